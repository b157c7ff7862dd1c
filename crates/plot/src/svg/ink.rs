//! How each meaning looks: ink, dashes and shapes. Colour only helps; nothing rests on it.
//!
//! Colours are the set for all colour vision of M. Okabe and K. Ito, "Color Universal Design" (2008):
//! blue, vermilion, bluish green, reddish purple, orange and sky blue, beside black.

use crate::figure::{Spot, Style};
use std::fmt::Write as _;

/// Classes, in light and in dark.
pub const STYLE: &str = "
.figure{font-family:system-ui,'Segoe UI',Roboto,'Helvetica Neue',Arial,'DejaVu Sans',sans-serif;font-size:15px;max-width:100%;height:auto}
.figure .paper{fill:#fff}
.figure text{fill:#222}
.figure .heading{font-size:21px;font-weight:600}
.figure .number{fill:#555}
.figure .halo{paint-order:stroke;stroke:#fff;stroke-width:4px}
.figure .grid{stroke:#e2e2e2}
.figure .zero{stroke:#777;stroke-width:1.5}
.figure .axis,.figure .tick{stroke:#555}
.figure .leader{stroke:#999}
.figure .guide{stroke:#555;stroke-dasharray:2 4}
.figure .band{fill:#56b4e9;fill-opacity:.22}
.figure .hatch{stroke:#0072b2;stroke-opacity:.45}
.figure .edge{fill:none;stroke:#0072b2;stroke-opacity:.7}
.figure .band.edge{fill:#56b4e9;fill-opacity:.22}
.figure .required{fill:none;stroke:#000;stroke-width:2;stroke-dasharray:9 6}
.figure .device{fill:none;stroke-width:4;stroke-linejoin:round}
.figure .d0{stroke:#0072b2}.figure .d1{stroke:#d55e00;stroke-dasharray:18 5}.figure .d2{stroke:#009e73;stroke-dasharray:14 4 3 4}
.figure .d3{stroke:#cc79a7;stroke-dasharray:6 3}.figure .d4{stroke:#e69f00;stroke-dasharray:18 4 3 4 3 4}
.figure .marker{stroke:#fff;stroke-width:1.5;stroke-dasharray:none}
.figure .m0{fill:#0072b2}.figure .m1{fill:#d55e00}.figure .m2{fill:#009e73}.figure .m3{fill:#cc79a7}.figure .m4{fill:#e69f00}
@media (prefers-color-scheme:dark){
.figure .paper{fill:#16191d}.figure text{fill:#eee}.figure .number{fill:#bbb}.figure .halo{stroke:#16191d}
.figure .grid{stroke:#33383f}.figure .zero{stroke:#999}.figure .axis,.figure .tick,.figure .guide{stroke:#aaa}.figure .leader{stroke:#777}
.figure .required{stroke:#fff}.figure .hatch,.figure .edge{stroke:#56b4e9}.figure .marker{stroke:#16191d}
.figure .d0{stroke:#56b4e9}.figure .m0{fill:#56b4e9}
}
";

/// How many devices differ by dash and shape; more begin again and are told apart by their words.
const KINDS: usize = 5;

/// The hatch of a band, so that it shows without colour.
pub fn hatch(id: &str) -> String {
    format!(
        "<defs><pattern id=\"{id}-hatch\" width=\"8\" height=\"8\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
         <line class=\"hatch\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"8\"/></pattern></defs>\n"
    )
}

/// The classes of a line.
pub fn line_class(style: Style) -> String {
    match style {
        Style::Required => "required".to_owned(),
        Style::Device(n) => format!("device d{}", n % KINDS),
    }
}

/// A device's marker: circle, square, triangle, diamond, triangle on its tip.
pub fn write_marker(out: &mut String, device: usize, (x, y): Spot) {
    let kind = device % KINDS;
    let corners: &[Spot] = match kind {
        0 => {
            let _ = writeln!(out, "<circle class=\"marker m0\" cx=\"{}\" cy=\"{}\" r=\"6\"/>", super::n(x), super::n(y));
            return;
        }
        1 => &[(-5.5, -5.5), (5.5, -5.5), (5.5, 5.5), (-5.5, 5.5)],
        2 => &[(0.0, -7.0), (7.0, 5.5), (-7.0, 5.5)],
        3 => &[(0.0, -7.5), (7.5, 0.0), (0.0, 7.5), (-7.5, 0.0)],
        _ => &[(0.0, 7.0), (7.0, -5.5), (-7.0, -5.5)],
    };
    let corners: Vec<Spot> = corners.iter().map(|(dx, dy)| (x + dx, y + dy)).collect();
    let _ = writeln!(out, "<polygon class=\"marker m{kind}\" points=\"{}\"/>", super::written(&corners));
}

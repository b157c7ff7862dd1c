//! How each meaning of a timeline looks: dashes and patterns; colour only helps.

use crate::timeline::{Does, Doing, Style};

/// Classes, besides those of every picture, in light and in dark.
pub const STYLE: &str = "
.figure .strong{font-weight:600}
.figure .small{font-size:13px}
.figure .warning{fill:none;stroke:#b03a00;stroke-width:3}
.figure .series{fill:none;stroke-width:1.6;stroke-linejoin:round}
.figure .filled{fill-opacity:.35;stroke-width:.8}
.figure .s0{stroke:#0072b2}.figure .s1{stroke:#d55e00;stroke-dasharray:7 3}.figure .s2{stroke:#009e73;stroke-dasharray:2 2.5}
.figure .mean{stroke:#000;stroke-width:2.4}.figure .logged{stroke:#a0457f;stroke-dasharray:6 3}.figure .possible{stroke:#555;stroke-dasharray:2 3}
.figure .s0.filled{fill:#0072b2}.figure .s1.filled{fill:#d55e00}.figure .s2.filled{fill:#009e73}.figure .mean.filled{fill:#000;fill-opacity:.15}
.figure .g0{stroke:#0072b2;stroke-width:2.4}.figure .g1{stroke:#d55e00;stroke-width:2.4;stroke-dasharray:12 4}
.figure .g2{stroke:#009e73;stroke-width:2.4;stroke-dasharray:6 3 2 3}
.figure .g0.filled{fill:#0072b2}.figure .g1.filled{fill:#d55e00}.figure .g2.filled{fill:#009e73}
.figure .trips{stroke:#b03a00;stroke-width:1.6;stroke-dasharray:10 4}
.figure .connects{stroke:#00694d;stroke-width:1.4;stroke-dasharray:3 4}
.figure .ceases{stroke:#7a4a68;stroke-width:1.4;stroke-dasharray:8 3 2 3}
.figure .moment{stroke:#777;stroke-dasharray:1 3}
.figure .window-line{stroke:#d55e00;stroke-width:1.6;fill:none}
.figure .unknown-line{stroke:#999}
.figure .state{stroke:#555}
.figure .p-running{fill:#56b4e9;fill-opacity:.55}
.figure .p-line{stroke:#0072b2;stroke-width:1.6;fill:none}.figure .p-dot{fill:#333}.figure .p-bar{stroke:#333;stroke-width:1.6}
.figure .row{fill:none;stroke:#555;stroke-width:.8}
.figure .mark{fill:#222;stroke:#222;stroke-width:1.5}.figure .mark.may{fill:#fff;stroke-dasharray:3 2}
.figure .name{font-size:12px;font-weight:600}.figure .name.sure{fill:#fff}
.figure .stem{stroke:#222}.figure .more{stroke:#222;stroke-width:1}
@media (prefers-color-scheme:dark){
.figure .mean,.figure .mark,.figure .stem,.figure .more{stroke:#eee}.figure .mean.filled{fill:#eee}.figure .possible{stroke:#aaa}
.figure .s0,.figure .g0{stroke:#56b4e9}.figure .s0.filled,.figure .g0.filled{fill:#56b4e9}
.figure .trips,.figure .warning{stroke:#ff9d5c}.figure .logged{stroke:#e5a8c8}.figure .connects{stroke:#3fd0a4}.figure .ceases{stroke:#e5a8c8}
.figure .mark{fill:#eee}.figure .mark.may{fill:#16191d}.figure .name.sure{fill:#16191d}
.figure .p-line{stroke:#56b4e9}.figure .p-dot{fill:#ddd}.figure .p-bar{stroke:#ddd}.figure .state,.figure .row{stroke:#aaa}
.figure .unknown-line{stroke:#777}
}
";

/// The hatches, under names that begin with the picture's own.
pub fn patterns(id: &str) -> String {
    let pattern = |name: &str, size: u8, turned: i16, body: &str| {
        let turn = if turned == 0 { String::new() } else { format!(" patternTransform=\"rotate({turned})\"") };
        format!("<pattern id=\"{id}-{name}\" width=\"{size}\" height=\"{size}\" patternUnits=\"userSpaceOnUse\"{turn}>{body}</pattern>")
    };
    let all = [
        pattern("window", 6, 45, "<path class=\"window-line\" d=\"M0 0V6M0 0H6\"/>"),
        pattern("unknown", 9, -45, "<line class=\"unknown-line\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"9\"/>"),
        pattern(name(Doing::HeldBack), 5, 0, "<line class=\"p-line\" x1=\"0\" y1=\"2.5\" x2=\"5\" y2=\"2.5\"/>"),
        pattern(name(Doing::Ramping), 7, 45, "<line class=\"p-line\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"7\"/>"),
        pattern(name(Doing::Observing), 6, 0, "<circle class=\"p-dot\" cx=\"3\" cy=\"3\" r=\"1.2\"/>"),
        pattern(name(Doing::Ceased), 5, 0, "<line class=\"p-bar\" x1=\"2.5\" y1=\"0\" x2=\"2.5\" y2=\"5\"/>"),
    ];
    format!("<defs>{}</defs>\n", all.concat())
}

fn name(doing: Doing) -> &'static str {
    match doing {
        Doing::Waiting => "waiting",
        Doing::Observing => "observing",
        Doing::Ramping => "ramping",
        Doing::Running => "running",
        Doing::Ceased => "ceased",
        Doing::HeldBack => "held-back",
    }
}

/// The attributes of an area in which something is done.
pub fn state(doing: Doing, id: &str) -> String {
    match doing {
        Doing::Waiting => "class=\"state\" fill=\"none\"".to_owned(),
        Doing::Running => "class=\"state p-running\"".to_owned(),
        other => format!("class=\"state\" fill=\"url(#{id}-{})\"", name(other)),
    }
}

/// The classes of a series.
pub fn series_class(style: Style) -> String {
    match style {
        Style::Measured(n) => format!("series s{}", n % 3),
        Style::Mean => "series mean".to_owned(),
        Style::Logged => "series logged".to_owned(),
        Style::Possible => "series possible".to_owned(),
        Style::Device(n) => format!("series g{}", n % 3),
    }
}

/// The class of a threshold.
pub fn level_class(does: Does) -> &'static str {
    match does {
        Does::Trips => "trips",
        Does::Connects => "connects",
        Does::Ceases => "ceases",
    }
}

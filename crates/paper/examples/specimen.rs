//! Writes papers of invented contents into a folder, in both forms and sizes, to look at.
//!
//! `cargo run -p paper --features pdf --example specimen -- FOLDER`

#[path = "../tests/specimen/mod.rs"]
mod specimen;

use std::path::Path;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("name a folder to write into")?;
    let written = |name: &str, bytes: &[u8]| std::fs::write(Path::new(&folder).join(name), bytes);
    for (name, paper) in [("close-out", specimen::close_out()), ("pictures", specimen::pictures()), ("roll-up", specimen::roll_up())] {
        for (size_name, size) in [("a4", paper::Size::A4), ("letter", paper::Size::Letter)] {
            written(&format!("{name}-{size_name}.html"), paper::html(&paper, size).as_bytes())?;
            #[cfg(feature = "pdf")]
            written(&format!("{name}-{size_name}.pdf"), &paper::pdf(&paper, size)?.bytes)?;
        }
    }
    Ok(())
}

//! Colours in grey.

/// How light a colour is, written as `#rgb` or `#rrggbb`: from 0, black, to 255. Nothing for what is no colour.
///
/// The weights of red, green and blue are those of luma in Recommendation ITU-R BT.709 (from memory).
pub fn of_colour(written: &str) -> Option<u8> {
    let digits = written.strip_prefix('#')?;
    let [red, green, blue] = match digits.len() {
        3 => [0, 1, 2_usize].map(|at| u32::from_str_radix(digits.get(at..=at)?, 16).ok().map(|one| one * 17)),
        6 => [0, 2, 4_usize].map(|at| u32::from_str_radix(digits.get(at..at + 2)?, 16).ok()),
        _ => return None,
    };
    u8::try_from((red? * 2126 + green? * 7152 + blue? * 722 + 5000) / 10_000).ok()
}

/// As a style sheet writes it.
pub fn written(grey: u8) -> String {
    format!("#{grey:02x}{grey:02x}{grey:02x}")
}

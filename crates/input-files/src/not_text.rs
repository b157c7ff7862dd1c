//! What a file is that is no text in UTF-8, by its first bytes, and what to do with it.

/// What begins like this, what it is, and what to do. The longer beginnings stand first.
const BEGINNINGS: [(&[u8], &str, &str); 11] = [
    (&[0xff, 0xfe, 0, 0], "text in UTF-32", AS_UTF_8),
    (&[0, 0, 0xfe, 0xff], "text in UTF-32", AS_UTF_8),
    (&[0xff, 0xfe], "text in UTF-16", AS_UTF_8),
    (&[0xfe, 0xff], "text in UTF-16", AS_UTF_8),
    // PKWARE's APPNOTE, 4.3.7: a workbook of a spreadsheet is such an archive
    (
        b"PK\x03\x04",
        "a workbook of a spreadsheet, or another packed archive",
        "open it, and save the one table that is meant as CSV in UTF-8",
    ),
    (&[0xd0, 0xcf, 0x11, 0xe0], "a workbook or document of an older kind", "open it, and save the one table that is meant as CSV in UTF-8"),
    (PDF, "a PDF, which is made to be printed", "ask for the table or the text that it was made of"),
    (&[0xff, 0xd8, 0xff], "a photo", AS_VALUES),
    (b"\x89PNG\r\n\x1a\n", "a picture", AS_VALUES),
    (b"GIF8", "a picture", AS_VALUES),
    (b"SQLite format 3\0", "a database", "name the file that was exported from it; a register goes with `--register`"),
];
/// A photo proves a value; it is not read for one.
const AS_VALUES: &str = "write the values that it shows into the sheet or the site's file, and name the photo beside them";
/// ISO 32000-1, 7.5.2: how such a file begins.
const PDF: &[u8] = b"%PDF-";
const AS_UTF_8: &str = "save the file as UTF-8";

/// So many bytes at the beginning are looked at for text of two bytes a letter.
const LOOKED_AT: usize = 256;

/// What the file is, and what to do; `None` where its beginning says nothing.
pub fn what_it_is(bytes: &[u8]) -> Option<(&'static str, &'static str)> {
    let known = BEGINNINGS.iter().find(|(beginning, ..)| bytes.starts_with(beginning)).map(|(_, what, help)| (*what, *help));
    // ISO/IEC 14496-12, 4.3: the photos of many telephones are such a box
    let is_boxed = bytes.get(4..8) == Some(b"ftyp");
    let known = known.or_else(|| is_boxed.then_some(("a photo or a film", AS_VALUES)));
    known.or_else(|| is_wide(&bytes[..bytes.len().min(LOOKED_AT)]).then_some(("text in UTF-16", AS_UTF_8)))
}

/// Whether every second byte, and no other, is zero for most of the beginning: plain letters of UTF-16 without a mark.
fn is_wide(bytes: &[u8]) -> bool {
    let zeros = |from: usize| bytes.iter().skip(from).step_by(2).filter(|byte| **byte == 0).count();
    let (even, odd) = (zeros(0), zeros(1));
    bytes.len() >= 8 && even.min(odd) == 0 && even.max(odd) * 4 > bytes.len()
}

/// Says what bytes are that are no text in UTF-8: by their beginning, or else the line where it stops being so.
pub fn says(bytes: &[u8], valid_up_to: usize) -> String {
    match what_it_is(bytes) {
        Some((what, help)) => format!("this is {what}; {help}"),
        None => {
            let line = bytes[..valid_up_to].iter().filter(|byte| **byte == b'\n').count() + 1;
            format!("line {line} is not UTF-8 text; {AS_UTF_8}")
        }
    }
}

/// Text in UTF-8, or what the bytes are instead.
///
/// # Errors
/// What they are, and what to do.
pub fn text(bytes: &[u8]) -> Result<&str, String> {
    let text = std::str::from_utf8(bytes).map_err(|error| says(bytes, error.valid_up_to()))?;
    // zero bytes are valid UTF-8, and no text that anybody wrote
    if (bytes.contains(&0) || bytes.starts_with(PDF)) && what_it_is(bytes).is_some() {
        return Err(says(bytes, 0));
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::{text, what_it_is};

    #[test]
    fn what_is_no_text_is_named() {
        let plain = "time,voltage L1 (V)\n2026-01-14 12:00:00,230.1\n";
        let wide = |mark: bool, big: bool| {
            let units = mark.then_some(0xfeff_u16).into_iter().chain(plain.encode_utf16());
            units.flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() }).collect::<Vec<u8>>()
        };
        for bytes in [wide(true, true), wide(true, false), wide(false, true), wide(false, false)] {
            assert_eq!(text(&bytes).unwrap_err(), "this is text in UTF-16; save the file as UTF-8");
        }
        assert_eq!(text(plain.as_bytes()).unwrap(), plain);
        assert_eq!(text(b"one\n\xe9").unwrap_err(), "line 2 is not UTF-8 text; save the file as UTF-8");
        assert!(text(b"PK\x03\x04\x14\0\0\0").unwrap_err().contains("a workbook"));
        assert!(text(b"%PDF-1.7\n1 0 obj\n").unwrap_err().contains("a PDF"));
        for photo in [&b"\xff\xd8\xff\xe0\0\x10JFIF\0"[..], b"\0\0\0\x18ftypheic\0\0\0\0"] {
            assert!(text(photo).unwrap_err().contains("a photo"), "{photo:?}");
        }
        assert!(text(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR").unwrap_err().contains("a picture"));
        assert!(text(&[b"%PDF-1.7\n".to_vec(), vec![0xe2, 0xe3]].concat()).unwrap_err().contains("a PDF"));
        for bytes in [&b""[..], b"a\0", b"kind: site\0\nsite: a\n", "\u{feff}kind: site".as_bytes(), &[0; 300]] {
            assert_eq!(what_it_is(bytes), None, "{bytes:?}");
        }
    }
}

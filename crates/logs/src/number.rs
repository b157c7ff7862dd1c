//! A number in a cell.

/// The words for a value that is missing.
const MISSING: [&str; 8] = ["", "-", "na", "n/a", "nan", "null", "none", "inf"];

/// Powers of ten that binary floating point holds exactly.
const TENS: [f64; 16] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// Reads a number; what is missing is not a number, and `None` is something else.
#[inline]
pub fn number(cell: &[u8], decimal: u8) -> Option<f64> {
    plain(cell, decimal).or_else(|| other(cell, decimal))
}

/// Digits with at most one decimal mark: both parts are exact, so the quotient is the nearest number.
#[inline]
fn plain(cell: &[u8], decimal: u8) -> Option<f64> {
    let (is_negative, digits) = match cell {
        [b'-', rest @ ..] => (true, rest),
        rest => (false, rest),
    };
    if digits.is_empty() || digits.len() > 16 {
        return None;
    }
    let (mut whole, mut after, mut decimals) = (0u64, false, 0usize);
    for byte in digits {
        let digit = byte.wrapping_sub(b'0');
        if digit < 10 {
            // sixteen digits never wrap round
            whole = whole.wrapping_mul(10).wrapping_add(u64::from(digit));
            decimals += usize::from(after);
        } else if *byte == decimal && !after {
            after = true;
        } else {
            return None;
        }
    }
    if digits.len() == 1 && after {
        return None;
    }
    let value = whole as f64 / TENS[decimals];
    Some(if is_negative { -value } else { value })
}

fn other(cell: &[u8], decimal: u8) -> Option<f64> {
    let text = std::str::from_utf8(cell).ok()?.trim();
    if MISSING.iter().any(|word| text.trim_start_matches(['-', '+', '#']).eq_ignore_ascii_case(word)) {
        return Some(f64::NAN);
    }
    // only digits and marks: no names of numbers, no spaces within
    if !text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'+' | b'-' | b'e' | b'E') || b == decimal) {
        return None;
    }
    let text = if decimal == b'.' { text.to_owned() } else { text.replace(char::from(decimal), ".") };
    text.parse().ok().filter(|value: &f64| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::number;

    #[test]
    fn numbers_are_read_to_the_nearest() {
        for text in ["0", "230", "230.15", "-4.6", "0.1", "253.000001", "1e3", "+5", "49.98", "123456789012345", ".5", "5."] {
            assert_eq!(number(text.as_bytes(), b'.'), text.parse().ok(), "{text}");
        }
        assert_eq!(number(b"230,15", b','), Some(230.15));
        assert_eq!(number(b" 230.1 ", b'.'), Some(230.1));
        for text in ["NaN", "", " ", "-", "N/A", "null"] {
            assert!(number(text.as_bytes(), b'.').is_some_and(f64::is_nan), "{text}");
        }
        for text in ["230,1", "1.2.3", "off", "230 V", "12:03", "1e999", "."] {
            assert_eq!(number(text.as_bytes(), b'.'), None, "{text}");
        }
    }
}

//! What registers say by themselves: whole numbers, sentinels, text.

use super::Says;
use crate::models::Kind;
use settings_model::exact::Exact;

/// A scale that is not implemented.
pub(super) const NO_SCALE: u16 = 0x8000;

pub(super) fn implemented(is: bool, says: impl FnOnce() -> Says) -> Says {
    if is { says() } else { Says::NotImplemented }
}

pub(super) fn signed(word: u16) -> i16 {
    word as i16
}

pub(super) fn long(raw: &[u16]) -> u32 {
    u32::from(raw[0]) << 16 | u32::from(raw[1])
}

/// A number before it is scaled.
pub(super) enum Number {
    Is(i64),
    NotImplemented,
    TooLong,
}

pub(super) fn number(kind: Kind, raw: &[u16]) -> Number {
    let unless = |sentinel: bool, number: i64| if sentinel { Number::NotImplemented } else { Number::Is(number) };
    match kind {
        Kind::I16 => unless(raw[0] == 0x8000, i64::from(signed(raw[0]))),
        Kind::U32 => unless(long(raw) == u32::MAX, i64::from(long(raw))),
        Kind::I32 => unless(long(raw) == 0x8000_0000, i64::from(long(raw) as i32)),
        Kind::U64 | Kind::Acc64 => {
            let whole = raw.iter().fold(0_u64, |whole, word| whole << 16 | u64::from(*word));
            match i64::try_from(whole) {
                _ if whole == u64::MAX || (kind == Kind::Acc64 && whole == 0) => Number::NotImplemented,
                Ok(number) => Number::Is(number),
                Err(_) => Number::TooLong,
            }
        }
        _ => unless(raw[0] == u16::MAX, i64::from(raw[0])),
    }
}

/// A number times a power of ten, and the power: each of nine digits at most, which leaves room for all
/// that is calculated with them.
pub(super) fn told(number: i64, power: i16) -> Says {
    let shifted = |number: i64| {
        let exact = match u32::try_from(power) {
            Ok(up) => Exact::from(10_i64.checked_pow(up).and_then(|ten| number.checked_mul(ten))?),
            Err(_) => Exact::new(number, u32::from(power.unsigned_abs())),
        };
        Exact::parse(&exact.to_string()).ok()
    };
    match (shifted(number), shifted(1)) {
        (Some(value), Some(resolution)) => Says::Number { value, resolution },
        _ => Says::TooLong,
    }
}

/// Text that ends at its padding. What is no UTF-8, and what would move a terminal, is taken out.
pub(super) fn text(raw: &[u16]) -> Says {
    let bytes: Vec<u8> = raw.iter().flat_map(|word| word.to_be_bytes()).collect();
    let end = bytes.iter().rposition(|byte| *byte != 0).map_or(0, |last| last + 1);
    if end == 0 {
        return Says::NotImplemented;
    }
    let whole = String::from_utf8_lossy(&bytes[..end]);
    let text: String = whole.chars().filter(|c| !c.is_control() && *c != char::REPLACEMENT_CHARACTER && !is_format(*c)).collect();
    Says::Text { damaged: text != whole, text: text.trim().to_owned() }
}

/// Characters that show nothing and turn writing round.
fn is_format(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

//! Numbers and their units, which belong in one line: `258 V` is never read as 258 of something else.

/// Units as this trade writes them, and signs that stand before numbers.
const UNITS: [&str; 42] = [
    "V", "mV", "kV", "A", "mA", "kA", "W", "kW", "MW", "VA", "kVA", "MVA", "var", "kvar", "Mvar", "Wh", "kWh", "Hz", "mHz", "Hz/s", "V/s",
    "W/s", "ms", "s", "min", "h", "d", "%", "%/min", "%/s", "pu", "°", "°C", "Ω", "mΩ", "m", "mm", "mm²", "km", "kWp", "cycles", "days",
];
const SIGNS: [char; 7] = ['±', '≤', '≥', '<', '>', '=', '≈'];

/// The words, cut where a line may end and what is of a piece kept whole; all together are the words again.
pub fn pieces(words: &str) -> Vec<(&str, bool)> {
    let mut pieces = Vec::new();
    let (mut start, mut is_bound) = (0, false);
    for (space, _) in words.match_indices(' ') {
        if binds(words, space) {
            if !is_bound {
                // what is before the word that it begins with
                let word = words[start..space].rfind(' ').map_or(start, |at| start + at + 1);
                push(&mut pieces, &words[start..word], false);
                (start, is_bound) = (word, true);
            }
        } else if is_bound {
            push(&mut pieces, &words[start..space], true);
            (start, is_bound) = (space, false);
        }
    }
    push(&mut pieces, &words[start..], is_bound);
    pieces
}

fn push<'w>(pieces: &mut Vec<(&'w str, bool)>, words: &'w str, is_bound: bool) {
    if !words.is_empty() {
        pieces.push((words, is_bound));
    }
}

/// Whether a space stands between a number and its unit, or between a sign and its number.
pub fn binds(words: &str, space: usize) -> bool {
    let (before, after) = (&words[..space], &words[space + 1..]);
    let next = after.split([' ', ',', ';', ':', ')']).next().unwrap_or_default();
    let is_unit = UNITS.contains(&next.trim_end_matches(['.', '!', '?']));
    let is_number = |c: char| c.is_ascii_digit();
    let is_sign = before.chars().next_back().is_some_and(|sign| SIGNS.contains(&sign));
    let is_signed_number = after.trim_start_matches(['-', '+', '−']).starts_with(is_number);
    before.ends_with(is_number) && is_unit || is_sign && is_signed_number
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stay_with_their_units() {
        let bound = |words| pieces(words).into_iter().filter(|(_, is_bound)| *is_bound).map(|(words, _)| words).collect::<Vec<_>>();
        assert_eq!(bound("held at 4.9 kW."), ["4.9 kW."]);
        assert_eq!(bound("± 15 %; ≤ 5 kW, and 258 V for 10 s"), ["± 15 %;", "≤ 5 kW,", "258 V", "10 s"]);
        assert_eq!(bound("stage 2 acts, 3 sites, table 4.1 says"), [""; 0]);
        let words = "from 12 V to −3 V in 2 s ";
        assert_eq!(pieces(words).into_iter().map(|(words, _)| words).collect::<String>(), words);
    }
}

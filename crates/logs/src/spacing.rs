//! How far apart a log's rows are, and from when on a missing stretch is a gap.

use super::Row;
use response::timeline::Micros;

/// How far apart rows are.
#[derive(Clone, Copy, Debug)]
pub struct Spacing {
    /// The usual step.
    pub usual: Micros,
    /// The longest step that is no gap.
    pub longest: Micros,
}

impl Spacing {
    /// From the first rows: the usual step is the middle one. A step is a gap where it is more than
    /// three times as long as nearly all others (common practice, no source).
    pub fn of(rows: &[Row], longest: Option<Micros>) -> Self {
        let mut steps: Vec<Micros> = rows.windows(2).map(|pair| pair[1].at - pair[0].at).collect();
        steps.sort_unstable();
        let at = |share: usize| steps.get(steps.len().saturating_sub(1) * share / 100).copied().unwrap_or(0);
        Self { usual: at(50), longest: longest.unwrap_or(3 * at(95)) }
    }
}

//! Between which shares of all devices some do a thing, by how many of those that were looked at do it.

/// The exact interval of 95 % for a share (Clopper and Pearson 1934, doi 10.1093/biomet/26.4.404): each end is the share
/// at which so many, or more extreme, would be seen once in forty times.
#[must_use]
pub fn clopper_pearson(hits: u64, of: u64) -> [f64; 2] {
    if of == 0 {
        return [0.0, 1.0];
    }
    let low = if hits == 0 { 0.0 } else { 1.0 - share_at_which(of - hits, of) };
    let high = if hits >= of { 1.0 } else { share_at_which(hits, of) };
    [low, high]
}

/// Half of what lies outside.
const TAIL: f64 = 0.025;

/// The share at which no more than so many are seen once in forty times: halved until it is exact.
fn share_at_which(hits: u64, of: u64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if at_most(hits, of, middle) > TAIL { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

/// How likely it is that no more than so many of all do it, each by this chance.
fn at_most(hits: u64, of: u64, chance: f64) -> f64 {
    if hits >= of {
        return 1.0;
    }
    // the shorter sum
    if 2 * hits > of {
        return 1.0 - at_most(of - hits - 1, of, 1.0 - chance);
    }
    let (odds, mut log) = ((chance / (1.0 - chance)).ln(), of as f64 * (1.0 - chance).ln());
    let mut sum = 0.0;
    for n in 0..=hits {
        sum += log.exp();
        log += ((of - n) as f64 / (n + 1) as f64).ln() + odds;
    }
    sum
}

//! Writes a year of one-second data of an invented site, three phases: a supply that breathes with the
//! day, a sun, clouds, dips, a neutral that holds, and hours near noon in which volt-watt acts.
//!
//! `cargo run --release --example log -- ROWS > log.csv`

use std::io::{self, BufWriter, Write};

fn main() -> io::Result<()> {
    let rows: i64 = std::env::args().nth(1).and_then(|rows| rows.parse().ok()).unwrap_or(31_536_000);
    let mut out = BufWriter::with_capacity(1 << 20, io::stdout().lock());
    writeln!(out, "time,V_L1 [V],V_L2 [V],V_L3 [V],f [Hz],available power [kW]")?;
    let mut random = Random(0x9e37_79b9_7f4a_7c15);
    // 2026-01-01T00:00:00Z
    for second in 0..rows {
        let day = second as f64 / 86_400.0;
        let hour = (day.fract()) * 24.0;
        let sun = (((hour - 12.0) / 3.0).powi(2) * -0.5).exp() * (0.6 + 0.4 * (day * std::f64::consts::TAU / 365.0).cos());
        let cloud = if random.unit() < 0.3 { 0.8 } else { 1.0 };
        let available = (5.6 * sun * cloud).max(0.0);
        let supply = 246.5 - 2.0 * (hour / 24.0 * std::f64::consts::TAU).cos() + 7.5 * sun;
        let dip = if random.unit() < 2e-6 { 120.0 } else { 0.0 };
        let mut volts = || supply - dip + random.unit() - 0.5;
        let (l1, l2, l3) = (volts(), volts(), volts());
        let frequency = 50.0 + 0.06 * (random.unit() - 0.5);
        let (date, time) = (day.floor() as i64, second % 86_400);
        let (year, month, date) = calendar(date);
        let (hours, minutes, seconds) = (time / 3600, time / 60 % 60, time % 60);
        writeln!(
            out,
            "{year}-{month:02}-{date:02}T{hours:02}:{minutes:02}:{seconds:02}Z,{l1:.1},{l2:.1},{l3:.1},{frequency:.2},{available:.2}"
        )?;
    }
    out.flush()
}

/// Year, month and day of the days since the first of January 2026.
fn calendar(mut days: i64) -> (i64, usize, i64) {
    const MONTHS: [i64; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let mut year = 2026;
    loop {
        for (n, length) in MONTHS.iter().enumerate() {
            let length = length + i64::from(n == 1 && year % 4 == 0);
            if days < length {
                return (year, n + 1, days + 1);
            }
            days -= length;
        }
        year += 1;
    }
}

/// A plain generator of random numbers (xorshift), so that every run writes the same.
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

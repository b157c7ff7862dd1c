//! What a log costs only to be read as CSV byte records, nothing understood: the baseline of `events`.
//!
//! `cargo run --release --example only_read -- LOG`

use std::fs::File;
use std::time::Instant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = std::env::args().nth(1).ok_or("name a log")?;
    let begun = Instant::now();
    let mut reader = csv::ReaderBuilder::new().buffer_capacity(1 << 18).from_reader(File::open(path)?);
    let (mut record, mut rows, mut bytes) = (csv::ByteRecord::new(), 0u64, 0usize);
    while reader.read_byte_record(&mut record)? {
        rows += 1;
        bytes += record.get(1).map_or(0, <[u8]>::len);
    }
    println!("{:.3} {rows} {bytes}", begun.elapsed().as_secs_f64());
    Ok(())
}

//! What the logs of a fleet cost only to be read, the same columns, nothing understood: the baseline of `behaves --fleet`.
//!
//! `cargo run --release -p cli --features parquet --example only_read_parquet -- LOGS.parquet`

use parquet::column::reader::ColumnReader;
use parquet::file::reader::{FileReader, SerializedFileReader};
use std::fs::File;
use std::time::Instant;

const COLUMNS: [&str; 4] = ["time", "V_L1 [V]", "P [kW]", "Q [kvar]"];
const AT_ONCE: usize = 4_096;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = std::env::args().nth(1).ok_or("name a log")?;
    let begun = Instant::now();
    let file = SerializedFileReader::new(File::open(path)?)?;
    let schema = file.metadata().file_metadata().schema_descr_ptr();
    let wanted: Vec<usize> = (0..schema.num_columns()).filter(|n| COLUMNS.contains(&schema.column(*n).name())).collect();
    let (mut rows, mut sum) = (0, 0.0);
    for n in 0..file.num_row_groups() {
        let group = file.get_row_group(n)?;
        let mut columns = wanted.iter().map(|column| group.get_column_reader(*column)).collect::<Result<Vec<_>, _>>()?;
        let mut left = group.metadata().num_rows() as usize;
        rows += left;
        while left > 0 {
            let count = left.min(AT_ONCE);
            for column in &mut columns {
                sum += read(column, count)?;
            }
            left -= count;
        }
    }
    println!("{:.3} {rows} {sum:.0}", begun.elapsed().as_secs_f64());
    Ok(())
}

fn read(column: &mut ColumnReader, rows: usize) -> Result<f64, Box<dyn std::error::Error>> {
    let mut levels = Vec::new();
    match column {
        ColumnReader::DoubleColumnReader(column) => {
            let mut values = Vec::with_capacity(rows);
            column.read_records(rows, Some(&mut levels), None, &mut values)?;
            Ok(values.iter().sum())
        }
        ColumnReader::Int64ColumnReader(column) => {
            let mut values = Vec::with_capacity(rows);
            column.read_records(rows, Some(&mut levels), None, &mut values)?;
            Ok(values.iter().map(|value| *value as f64).sum())
        }
        _ => Err("a column of another type".into()),
    }
}

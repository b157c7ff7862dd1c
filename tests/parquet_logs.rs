//! Logs in Parquet files: the same answer as from CSV with the feature `parquet`, and how to get it
//! without.

use crate::program;

use program::logs;
use std::path::Path;
use std::process::Output;

fn events(log: &Path) -> Output {
    logs::events(log, &["--format", "json"])
}

#[cfg(not(feature = "parquet"))]
#[test]
fn without_the_feature_it_says_how_to_get_it() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("log.parquet");
    std::fs::write(&log, b"PAR1\x15\x04\x15\x10").unwrap();
    let output = events(&log);
    // lines are folded where the terminal ends
    let says = logs::on_one_line(&output.stderr);
    assert_eq!((output.status.code(), output.stdout.len()), (Some(2), 0), "{says}");
    assert!(says.contains("parquet-not-built-in") && says.contains("--features parquet"), "{says}");
}

#[cfg(feature = "parquet")]
mod with_the_feature {
    use super::{events, program::root};
    use crate::behaving_fleets::{Fleet, of_all};
    use parquet::basic::{LogicalType, Repetition, Type};
    use parquet::data_type::{ByteArray, ByteArrayType, DoubleType};
    use parquet::file::properties::WriterProperties;
    use parquet::file::writer::SerializedFileWriter;
    use parquet::schema::parser::parse_message_type;
    use std::fs::File;
    use std::path::Path;
    use std::sync::Arc;

    /// Numbers of a column, with empty cells as nothing.
    fn column(csv: &str, index: usize) -> Vec<Option<f64>> {
        let cell = |line: &str| line.split(',').nth(index).and_then(|cell| cell.parse().ok());
        csv.lines().skip(1).map(cell).collect()
    }

    /// Writes a log of `t [s]`, `V [V]` and `f [Hz]`, the last with empty places, in two groups of rows.
    fn write(csv: &str, to: &Path) {
        let message = "message log { required double t; required double v; optional double f; }";
        let mut schema = parse_message_type(message).unwrap();
        // headings with units are no words of the message language
        let names = ["t [s]", "V [V]", "f [Hz]"];
        let fields = schema.get_fields().iter().zip(names).map(|(field, name)| {
            let repetition = field.get_basic_info().repetition();
            let of = parquet::schema::types::Type::primitive_type_builder(name, parquet::basic::Type::DOUBLE);
            Arc::new(of.with_repetition(repetition).build().unwrap())
        });
        let group = parquet::schema::types::Type::group_type_builder("log").with_fields(fields.collect());
        schema = group.build().unwrap();
        let mut writer =
            SerializedFileWriter::new(File::create(to).unwrap(), Arc::new(schema), Arc::new(WriterProperties::default())).unwrap();
        let columns = [0, 1, 2].map(|index| column(csv, index));
        let half = columns[0].len() / 2;
        for rows in [0..half, half..columns[0].len()] {
            let mut group = writer.next_row_group().unwrap();
            for (n, of) in columns.iter().enumerate() {
                let cells = &of[rows.clone()];
                let values: Vec<f64> = cells.iter().flatten().copied().collect();
                let levels: Vec<i16> = cells.iter().map(|cell| i16::from(cell.is_some())).collect();
                let mut open = group.next_column().unwrap().unwrap();
                open.typed::<DoubleType>().write_batch(&values, (n == 2).then_some(&levels[..]), None).unwrap();
                open.close().unwrap();
            }
            group.close().unwrap();
        }
        writer.close().unwrap();
    }

    #[test]
    fn a_parquet_log_gets_the_answer_of_the_same_csv() {
        let csv = root().join("tests/logs/reclose-twice.csv");
        let folder = tempfile::tempdir().unwrap();
        let parquet = folder.path().join("log.parquet");
        write(&std::fs::read_to_string(&csv).unwrap(), &parquet);
        let [one, other] = [&csv, &parquet].map(|log| {
            let output = events(log);
            assert_eq!(output.status.code(), Some(1), "{}", String::from_utf8_lossy(&output.stderr));
            let mut report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
            report["log"]["file"] = serde_json::Value::Null;
            report
        });
        assert!(one["log"]["missing-values"].as_u64().unwrap() > 0, "{one}");
        assert_eq!(one, other);
    }

    /// Writes a log of many sites: their names, times in seconds, and the other columns; groups end where it is said,
    /// whosever rows those are.
    fn write_fleet(csv: &str, to: &Path, ends: &[usize]) {
        let headings: Vec<&str> = csv.lines().next().unwrap().split(',').collect();
        let rows: Vec<Vec<&str>> = csv.lines().skip(1).map(|line| line.split(',').collect()).collect();
        let field = |(n, heading): (usize, &&str)| {
            let name = if n == 1 { "t [s]" } else { heading };
            let of = if n == 0 { Type::BYTE_ARRAY } else { Type::DOUBLE };
            let logical = (n == 0).then_some(LogicalType::String);
            let of = parquet::schema::types::Type::primitive_type_builder(name, of).with_logical_type(logical);
            Arc::new(of.with_repetition(Repetition::REQUIRED).build().unwrap())
        };
        let fields = headings.iter().enumerate().map(field).collect();
        let schema = parquet::schema::types::Type::group_type_builder("log").with_fields(fields).build().unwrap();
        let mut writer =
            SerializedFileWriter::new(File::create(to).unwrap(), Arc::new(schema), Arc::new(WriterProperties::default())).unwrap();
        let mut begins = 0;
        for end in ends.iter().copied().chain([rows.len()]) {
            let mut group = writer.next_row_group().unwrap();
            for n in 0..headings.len() {
                let mut open = group.next_column().unwrap().unwrap();
                let cells = || rows[begins..end].iter().map(|row| row[n]);
                if n == 0 {
                    let names: Vec<ByteArray> = cells().map(ByteArray::from).collect();
                    open.typed::<ByteArrayType>().write_batch(&names, None, None).unwrap();
                } else {
                    let number = |(at, cell): (usize, &str)| if n == 1 { (begins + at) as f64 * 300.0 } else { cell.parse().unwrap() };
                    let values: Vec<f64> = cells().enumerate().map(number).collect();
                    open.typed::<DoubleType>().write_batch(&values, None, None).unwrap();
                }
                open.close().unwrap();
            }
            group.close().unwrap();
            begins = end;
        }
        writer.close().unwrap();
    }

    /// Wherever groups of rows end, among the rows of a site or between those of two.
    #[test]
    fn a_fleet_in_parquet_gets_the_answers_of_the_same_csv() {
        let fleet = Fleet::of(3);
        let csv = of_all(0..3);
        let timed = csv.lines().enumerate().map(|(n, line)| {
            let cells: Vec<&str> = line.split(',').collect();
            let time = if n == 0 { "t [s]".to_owned() } else { ((n - 1) * 300).to_string() };
            format!("{},{time},{}\n", cells[0], cells[2..].join(","))
        });
        fleet.write("all.csv", &timed.collect::<String>());
        let wanted = fleet.lines(&["sites", "all.csv"], None);
        assert_eq!(wanted.len(), 3);
        for ends in [&[][..], &[864, 1_728], &[100, 864, 1_000, 1_001, 2_000], &[1_300]] {
            write_fleet(&csv, &fleet.path("all.parquet"), ends);
            assert_eq!(fleet.lines(&["sites", "all.parquet"], None), wanted, "{ends:?}");
        }
    }
}

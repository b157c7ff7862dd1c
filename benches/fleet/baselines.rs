//! What `asleft` is held against, one thread each: `baselines read FILE` only reads every line into a
//! borrowed `serde_json` derive, and understands nothing; `baselines schema FILE` judges every line by
//! the JSON Schema beside this file. Each prints how many lines it took and how many it refused.

mod borrowed;

use std::fs::File;
use std::hint::black_box;
use std::io::{self, BufRead, BufReader};

const SCHEMA: &str = include_str!("limits.schema.json");

fn main() -> io::Result<()> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [how, file] = &arguments[..] else { return Err(io::Error::other("baselines read|schema FILE")) };
    let counts = match how.as_str() {
        "read" => each_line(file, &|line| match serde_json::from_slice::<borrowed::Site<'_>>(line) {
            Ok(site) => {
                black_box(&site);
                true
            }
            Err(_) => false,
        })?,
        "schema" => {
            let schema = serde_json::from_str(SCHEMA)?;
            // compiled once, and only asked for yes or no: the fastest that it can be
            let validator = jsonschema::validator_for(&schema).map_err(|error| io::Error::other(error.to_string()))?;
            each_line(file, &|line| serde_json::from_slice(line).is_ok_and(|site| validator.is_valid(&site)))?
        }
        _ => return Err(io::Error::other("read or schema")),
    };
    println!("{{\"lines\":{},\"refused\":{}}}", counts.0, counts.1);
    Ok(())
}

/// How many lines there are, and how many of them are not accepted.
fn each_line(file: &str, accepts: &dyn Fn(&[u8]) -> bool) -> io::Result<(usize, usize)> {
    let mut input = BufReader::with_capacity(1 << 20, File::open(file)?);
    let (mut line, mut lines, mut refused) = (Vec::new(), 0, 0);
    while input.read_until(b'\n', &mut line)? > 0 {
        lines += 1;
        refused += usize::from(!accepts(&line));
        line.clear();
    }
    Ok((lines, refused))
}

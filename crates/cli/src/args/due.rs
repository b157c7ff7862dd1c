//! The command line of `asleft due`.

use super::{Format, InRegister, Which};
use clap::Args;
use jiff::civil::Date;

/// `asleft due`
#[derive(Args)]
pub struct Due {
    /// Which register.
    #[command(flatten)]
    pub register: InRegister,
    /// Which sites.
    #[command(flatten)]
    pub which: Which,
    /// Only what is due within this time, such as `30d` or `6w`, and what is overdue
    #[arg(long, value_name = "TIME", value_parser = days)]
    pub within: Option<i64>,
    /// The day the question is asked for, such as 2026-02-03; today without it
    #[arg(long, value_name = "DATE", value_parser = super::date)]
    pub as_of: Option<Date>,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// A number of days: `30d`, `6w`, `30 days`.
fn days(text: &str) -> Result<i64, String> {
    let text = text.trim();
    let digits = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let of_unit = match text[digits..].trim() {
        "d" | "day" | "days" => 1,
        "w" | "week" | "weeks" => 7,
        _ => return Err("write days or weeks, such as `30d` or `6w`".to_owned()),
    };
    let number: u16 = text[..digits].parse().map_err(|_| "write a number of days or weeks, such as `30d`".to_owned())?;
    Ok(i64::from(number) * of_unit)
}

//! How words, lines and room look on paper. Lengths are in points.

use crate::pdf::lines::Manner;

const fn manner(size: f32, leading: f32, grey: u8, is_bold: bool) -> Manner {
    Manner { size, leading, grey, is_bold }
}

/// What the paper is.
pub const TITLE: Manner = manner(17.0, 22.0, 0, true);
/// The heading of a part.
pub const PART: Manner = manner(12.0, 17.0, 0, true);
/// A heading inside a part.
pub const HEADING: Manner = manner(9.5, 14.0, 0, true);
/// What is read.
pub const BODY: Manner = manner(8.8, 13.0, 0, false);
/// The name of a fact.
pub const NAME: Manner = manner(8.8, 13.0, SOFT, false);
/// What stands in tables.
pub const CELL: Manner = manner(7.8, 10.6, 0, false);
/// What heads columns.
pub const COLUMN: Manner = manner(7.4, 10.0, 0, true);
/// Captions, and what belongs on a line.
pub const SMALL: Manner = manner(7.2, 9.8, SOFT, false);
/// What runs along: at the head and the foot of each page.
pub const RUNNING: Manner = manner(7.0, 9.6, SOFT, false);
/// The standing at the head.
pub const STANDING: Manner = manner(8.4, 11.6, 0, true);

/// Grey of what is not the first to be read: 7 to 1 against white.
pub const SOFT: u8 = 0x55;
/// Grey of lines between rows.
pub const FINE: u8 = 0xbb;
/// The thinnest line.
pub const HAIR: f32 = 0.5;
/// As wide as lines are read without losing the next.
pub const READABLE: f32 = 440.0;
/// Before what follows a bullet.
pub const INDENT: f32 = 12.0;
/// Inside a frame.
pub const PADDING: f32 = 10.0;
/// Between columns.
pub const GUTTER: f32 = 24.0;
/// Above a line to write on.
pub const TO_WRITE: f32 = 36.0;
/// How many points the unit of a picture has at most: its letters, of 15 units, are as large as those beside it.
pub const LARGEST: f32 = 0.56;

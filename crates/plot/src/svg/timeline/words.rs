//! What the numbers mean, and what is to be said besides.

use super::{LINE, SIZE, Sheet, folded, narrow, text_width, write_text};

impl Sheet<'_> {
    /// Each numbered mark with its sentence, between two edges; on a paper of a given height as many as have room.
    pub fn legend(&mut self, [left, right]: [f64; 2]) {
        let last = self.frame.height.map_or(f64::INFINITY, |height| height - 2.0 * LINE);
        let mut left_out = 0;
        for device in &self.timeline.devices {
            if self.timeline.devices.len() > 1 && !device.marks.is_empty() {
                self.y += 4.0 + SIZE;
                let title = folded(&device.title, right - left, 1, |text| text_width(text, SIZE)).concat();
                write_text(&mut self.out, "strong", (left, self.y), "start", &title);
                self.y += 6.0;
            }
            for mark in &device.marks {
                if self.y > last - 3.0 * LINE {
                    left_out += 1;
                    continue;
                }
                self.y += 13.0;
                let y = self.y;
                self.disc(mark, (left + 14.0, y));
                for (line, text) in folded(&mark.says, right - left - 40.0, 3, |text| text_width(text, SIZE) * 0.9).iter().enumerate() {
                    write_text(&mut self.out, "words", (left + 38.0, y + 5.0 + LINE * line as f64), "start", text);
                    self.y = y + LINE * line as f64;
                }
                self.y += 11.0;
            }
            if let Some(says) = &device.more_says {
                self.small_paragraph(says, left + 38.0, right - left - 40.0);
            }
        }
        if left_out > 0 {
            self.small_paragraph(&format!("{left_out} more have no room here"), left, right - left);
        }
    }

    /// What is to be said besides, between two edges; on a paper of a given height as much as has room.
    pub fn notes(&mut self, [left, right]: [f64; 2]) {
        let last = self.frame.height.map_or(f64::INFINITY, |height| height - LINE);
        self.y += 8.0;
        let notes = &self.timeline.notes;
        for (told, note) in notes.iter().enumerate() {
            let lines = folded(note, right - left, 6, narrow);
            // room for the line that says how many are left out, unless this is the last
            let below = if told + 1 < notes.len() { LINE } else { 0.0 };
            if self.y + (LINE - 2.0) * lines.len() as f64 + below > last {
                let left_out = notes.len() - told;
                let says = if left_out == 1 { "1 remark has".to_owned() } else { format!("{left_out} remarks have") };
                self.small_paragraph(&format!("{says} no room here: see the tables"), left, right - left);
                break;
            }
            for line in lines {
                self.y += LINE - 2.0;
                write_text(&mut self.out, "small", (left, self.y), "start", &line);
            }
            self.y += 5.0;
        }
        self.y += 12.0;
    }
}

//! What the numbers mean, and what is to be said besides.

use super::{LINE, MARGIN, SIZE, Sheet, WIDTH, folded, narrow, text_width, write_text};

impl Sheet<'_> {
    /// Each numbered mark with its sentence.
    pub fn legend(&mut self) {
        for device in &self.timeline.devices {
            if self.timeline.devices.len() > 1 && !device.marks.is_empty() {
                self.y += 4.0 + SIZE;
                let title = folded(&device.title, WIDTH - 2.0 * MARGIN, 1, |text| text_width(text, SIZE)).concat();
                write_text(&mut self.out, "strong", (MARGIN, self.y), "start", &title);
                self.y += 6.0;
            }
            for mark in &device.marks {
                self.y += 13.0;
                let y = self.y;
                self.disc(mark, (MARGIN + 14.0, y));
                for (line, text) in
                    folded(&mark.says, WIDTH - 2.0 * MARGIN - 40.0, 3, |text| text_width(text, SIZE) * 0.9).iter().enumerate()
                {
                    write_text(&mut self.out, "words", (MARGIN + 38.0, y + 5.0 + LINE * line as f64), "start", text);
                    self.y = y + LINE * line as f64;
                }
                self.y += 11.0;
            }
            if let Some(says) = &device.more_says {
                self.small_paragraph(says, MARGIN + 38.0, WIDTH - 2.0 * MARGIN - 40.0);
            }
        }
    }

    /// What is to be said below.
    pub fn notes(&mut self) {
        self.y += 8.0;
        for note in &self.timeline.notes {
            for line in folded(note, WIDTH - 2.0 * MARGIN, 6, narrow) {
                self.y += LINE - 2.0;
                write_text(&mut self.out, "small", (MARGIN, self.y), "start", &line);
            }
            self.y += 5.0;
        }
        self.y += 12.0;
    }
}

//! What is packed with gzip or zstd, read as if it were not. Its first bytes say so, not its name.

use flate2::bufread::MultiGzDecoder;
use ruzstd::decoding::errors::{FrameDecoderError, ReadFrameHeaderError};
use ruzstd::decoding::{BlockDecodingStrategy, FrameDecoder};
use std::io::{self, BufRead, BufReader, Cursor, Read};

/// The first bytes of gzip (RFC 1952, 2.3.1).
const GZIP: &[u8] = &[0x1f, 0x8b];
/// The first bytes of a zstd frame (RFC 8878, 3.1.1).
const ZSTD: &[u8] = &[0x28, 0xb5, 0x2f, 0xfd];
/// The longest of them.
const LONGEST: u64 = 4;

/// Reads what was packed; what was not packed is read as it is.
pub fn unpacked<'r>(mut input: impl Read + Send + 'r) -> io::Result<Box<dyn Read + Send + 'r>> {
    let mut first = Vec::new();
    input.by_ref().take(LONGEST).read_to_end(&mut first)?;
    let (gzip, zstd) = (first.starts_with(GZIP), first.starts_with(ZSTD));
    let whole = Cursor::new(first).chain(input);
    Ok(match (gzip, zstd) {
        (true, _) => Box::new(Gzip(MultiGzDecoder::new(BufReader::with_capacity(BUFFER, whole)))),
        (_, true) => Box::new(Frames::new(BufReader::with_capacity(BUFFER, whole))),
        _ => Box::new(whole),
    })
}

const BUFFER: usize = 128 << 10;

/// Every frame of a zstd stream, one after another: a file may be several put together.
struct Frames<R> {
    input: R,
    frame: FrameDecoder,
    is_open: bool,
}

impl<R: BufRead> Frames<R> {
    fn new(input: R) -> Self {
        Self { input, frame: FrameDecoder::new(), is_open: false }
    }

    /// Opens the next frame, over those that hold no data; whether there is one.
    fn open(&mut self) -> io::Result<bool> {
        while !self.input.fill_buf()?.is_empty() {
            match self.frame.reset(&mut self.input) {
                Ok(()) => {
                    self.is_open = true;
                    return Ok(true);
                }
                Err(FrameDecoderError::ReadFrameHeaderError(ReadFrameHeaderError::SkipFrame { length, .. })) => {
                    // one that says that it is longer than it is hides what stands behind it
                    if io::copy(&mut self.input.by_ref().take(length.into()), &mut io::sink())? < length.into() {
                        return Err(io::Error::new(io::ErrorKind::UnexpectedEof, "a skippable frame is cut short; pack the file again"));
                    }
                }
                Err(_) => return Err(damaged()),
            }
        }
        Ok(false)
    }

    /// Closes a frame that was read to its end.
    fn close(&mut self) -> io::Result<()> {
        self.is_open = false;
        match (self.frame.get_checksum_from_data(), self.frame.get_calculated_checksum()) {
            (Some(written), Some(calculated)) if written != calculated => Err(damaged()),
            _ => Ok(()),
        }
    }
}

impl<R: BufRead> Read for Frames<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if into.is_empty() {
            return Ok(0);
        }
        while self.is_open || self.open()? {
            while self.frame.can_collect() < into.len() && !self.frame.is_finished() {
                let wanted = BlockDecodingStrategy::UptoBytes(into.len() - self.frame.can_collect());
                self.frame.decode_blocks(&mut self.input, wanted).map_err(|_| damaged())?;
            }
            match self.frame.read(into)? {
                0 => self.close()?,
                read => return Ok(read),
            }
        }
        Ok(0)
    }
}

/// What a library calls it says nothing to whoever has the file.
fn damaged() -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, "the packed file is damaged or cut short; copy it again, or pack it again")
}

/// A gzip stream that says so too.
struct Gzip<R>(MultiGzDecoder<R>);

impl<R: BufRead> Read for Gzip<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        self.0.read(into).map_err(|error| match error.kind() {
            io::ErrorKind::UnexpectedEof | io::ErrorKind::InvalidInput | io::ErrorKind::InvalidData => damaged(),
            _ => error,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::unpacked;
    use std::io::{Read, Write};

    const TEXT: &str = "one site a line\n";

    fn gzip(text: &[u8]) -> Vec<u8> {
        let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
        packed.write_all(text).unwrap();
        packed.finish().unwrap()
    }

    fn zstd(text: &[u8]) -> Vec<u8> {
        ruzstd::encoding::compress_to_vec(text, ruzstd::encoding::CompressionLevel::Fastest)
    }

    fn read(packed: &[u8]) -> std::io::Result<String> {
        let mut text = String::new();
        unpacked(packed)?.read_to_string(&mut text).map(|_| text)
    }

    #[test]
    fn packed_or_not_it_is_the_same_text() {
        assert_eq!(read(TEXT.as_bytes()).unwrap(), TEXT);
        assert_eq!(read(&gzip(TEXT.as_bytes())).unwrap(), TEXT);
        assert_eq!(read(&zstd(TEXT.as_bytes())).unwrap(), TEXT);
        assert_eq!(read(b"").unwrap(), "");
        assert_eq!(read(b"x").unwrap(), "x");
    }

    /// `cat` puts packed files together; a frame of another tool's notes may stand between (RFC 8878, 3.1.2).
    #[test]
    fn several_put_together_are_read_to_the_end() {
        let twice = TEXT.repeat(2);
        assert_eq!(read(&[gzip(TEXT.as_bytes()), gzip(TEXT.as_bytes())].concat()).unwrap(), twice);
        let skipped = [&[0x50, 0x2a, 0x4d, 0x18, 3, 0, 0, 0][..], b"xyz"].concat();
        assert_eq!(read(&[zstd(TEXT.as_bytes()), skipped, zstd(TEXT.as_bytes())].concat()).unwrap(), twice);
    }

    #[test]
    fn what_was_cut_short_or_altered_is_an_error() {
        for packed in [gzip(TEXT.as_bytes()), zstd(TEXT.as_bytes())] {
            assert!(read(&packed[..packed.len() - 2]).is_err());
            let mut altered = packed.clone();
            let last = altered.len() - if packed[0] == 0x1f { 7 } else { 1 };
            altered[last] ^= 0x55;
            assert!(read(&altered).is_err());
        }
    }

    /// A length that reaches over the next frame would have it passed over in silence.
    #[test]
    fn a_frame_to_be_skipped_hides_nothing_behind_it() {
        let skipped = |length: u8| [&[0x50, 0x2a, 0x4d, 0x18, length, 0, 0, 0][..], b"xyz"].concat();
        assert_eq!(read(&[zstd(TEXT.as_bytes()), skipped(3)].concat()).unwrap(), TEXT);
        for packed in [[zstd(TEXT.as_bytes()), skipped(4)].concat(), [zstd(TEXT.as_bytes()), skipped(200), zstd(b"y")].concat()] {
            assert!(read(&packed).is_err());
        }
    }
}

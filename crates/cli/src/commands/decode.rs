//! `asleft decode`: what a device held, from registers that were kept in a file.

use super::readout::{Read, finish, no_map};
use crate::args::Decode;
use crate::walk::write_messages;
use crate::{Exit, files};
use settings_model::files::{Kind, RegisterImageFile};
use settings_model::reader;
use settings_model::source::Sources;
use std::io;
use sunspec::image::ReadFrom;
use sunspec::{Image, Options};

/// Decodes the registers of a file.
pub fn run(args: &Decode) -> io::Result<Exit> {
    let text = files::text(&args.file)?;
    let mut sources = Sources::default();
    let name = terminal::path(&args.file);
    let source = sources.add(name.as_str(), text.as_str());
    let file = reader::read(source, &text, Kind::RegisterImage).and_then(|root| reader::typed::<RegisterImageFile>(&root));
    let file = match file {
        Ok(file) => file,
        Err(findings) => return write_messages(&findings, &sources).map(|()| Exit::CouldNotTell),
    };
    let options =
        Options { bases: args.base.map_or_else(|| Options::default().bases, |base| vec![base]), twice: false, ..Options::default() };
    match sunspec::walk::walk(&mut Image::of_file(&file), &options, &mut |_| {}) {
        Ok(walk) => {
            let read = file.read.map(|read| ReadFrom { peer: read.peer, unit: read.unit, at: read.at, program: read.program });
            finish(&Read { walk, name, from: read }, &args.readout)
        }
        Err(why) => no_map(&why, &name),
    }
}

//! `asleft keys`: pairs of keys to sign with and to check by.

use crate::args::{Keys, KeysCommand, KeysNew, KeysShow};
use crate::render::{self, wrapped};
use crate::{Exit, files};
use record::seal::{KeyFault, PrivateKey, PublicKey};
use std::io::{self, Write};

/// Does what is asked.
pub fn run(args: &Keys) -> io::Result<Exit> {
    match &args.about {
        KeysCommand::New(args) => new(args),
        KeysCommand::Show(args) => show(args),
    }
}

/// Makes a pair. The public key goes to standard output, the private one to its file and nowhere else.
fn new(args: &KeysNew) -> io::Result<Exit> {
    let key = PrivateKey::new().map_err(io::Error::other)?;
    files::keys::write_new(&key, &args.out)?;
    terminal::stdout().write_all(key.public().text().as_bytes())?;
    let public = files::keys::public_beside(&args.out);
    let says = format!(
        "private key: {}; keep it to yourself, with a copy in a safe place: nobody can make it again. Public key: {}; give it to \
         everybody who is to check, and tell them its short name, {}, another way",
        terminal::path(&args.out),
        terminal::path(&public),
        key.public().fingerprint()
    );
    writeln!(terminal::stderr(), "{}", wrapped(&says, render::width(), 2))?;
    Ok(Exit::Fine)
}

fn show(args: &KeysShow) -> io::Result<Exit> {
    let public = match PublicKey::of_text(&files::text(&args.file)?) {
        Err(KeyFault::IsPrivate) => files::keys::private(&args.file)?.public(),
        public => public.map_err(|fault| io::Error::other(format!("{}: {fault}", terminal::path(&args.file))))?,
    };
    terminal::stdout().write_all(public.text().as_bytes())?;
    Ok(Exit::Fine)
}

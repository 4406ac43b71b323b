//! `pitchline book seal`: a signature (Ed25519, RFC 8032) over the last link of the book's own chain, and what seals say
//! when a book is verified. The owner needs the public key alone, from the crew and not from the book.

use super::args::SealArgs;
use super::place::Place;
use super::verify::short;
use crate::failure::Failure;
use crate::output;
use crate::read;
use book::{Audit, BookError, Hash, Link, Seal, Store};
use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Seals a book.
pub fn run(args: &SealArgs) -> Result<u8, Failure> {
    let place = Place::new(&args.book);
    let mut held = place.hold()?;
    if args.new_key {
        make_key(&args.key)?;
    }
    let key = signing_key(&args.key)?;
    let head = held.store.head().map_err(|why| place.failure(why))?;
    let seal = Seal {
        link: head,
        public_key: key.verifying_key().to_bytes(),
        signature: key.sign(&message(head)).to_bytes(),
    };
    held.store.seal(&seal).map_err(|why| place.failure(why))?;
    let text = format!("Sealed at head {head} with the public key {}.", hex(&seal.public_key));
    output::print(&output::wrapped(&text, 0))?;
    Ok(0)
}

/// What is signed: a word of its own, so that a signature of another kind is never one of a book, and the link.
fn message(head: Link) -> Vec<u8> {
    [b"pitchline.seal/1\n".as_slice(), head.bytes()].concat()
}

fn hex(bytes: &[u8; 32]) -> String {
    Hash::from_bytes(*bytes).to_string()
}

/// Writes a new secret key that only its owner can read, and its public half beside it.
fn make_key(path: &Path) -> Result<(), Failure> {
    let written = |path: &Path| {
        let path = path.to_owned();
        move |e: std::io::Error| Failure::write_key(&path, &e)
    };
    if path.exists() {
        return Err(Failure::KeyThere { path: path.to_owned() });
    }
    // The public half first: a secret key without it could not be made again under its name.
    let public = public_path(path);
    let mut secret = [0; 32];
    getrandom::fill(&mut secret).map_err(|_| Failure::NoChance)?;
    let mut options = File::options();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let text = |bytes: &[u8; 32]| format!("{}\n", hex(bytes));
    let key = SigningKey::from_bytes(&secret).verifying_key();
    std::fs::write(&public, text(&key.to_bytes())).map_err(written(&public))?;
    let mut file = options.open(path).map_err(written(path))?;
    file.write_all(text(&secret).as_bytes()).and_then(|()| file.sync_all()).map_err(written(path))
}

fn public_path(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".pub");
    PathBuf::from(name)
}

fn signing_key(path: &Path) -> Result<SigningKey, Failure> {
    Ok(SigningKey::from_bytes(&key_bytes(&read::text(path)?).ok_or_else(|| no_key(path))?))
}

fn no_key(path: &Path) -> Failure {
    Failure::NoKey { path: path.to_owned() }
}

fn key_bytes(text: &str) -> Option<[u8; 32]> {
    text.trim().parse::<Hash>().ok().map(|hash| *hash.bytes())
}

/// A public key, from its file or as 64 signs of hexadecimal.
fn public_key(stated: &str) -> Result<[u8; 32], Failure> {
    match key_bytes(stated) {
        Some(bytes) => Ok(bytes),
        None => key_bytes(&read::text(Path::new(stated))?).ok_or_else(|| no_key(Path::new(stated))),
    }
}

/// What the seals of a book say, and what is wrong with them; with a key stated, only its seals count, and there must be
/// one that holds.
pub type Verified = Result<(Vec<Sealed>, Vec<String>), Failure>;

/// A seal that holds.
pub struct Sealed {
    /// Whose, in hexadecimal.
    key: String,
    /// Up to where, if more was recorded since.
    up_to: Option<String>,
}

impl Sealed {
    /// What it says of a book: it speaks for the chain of records alone where something is not as it was written.
    pub fn told(&self, whole: bool) -> String {
        let key = &self.key;
        match (&self.up_to, whole) {
            (None, true) => format!("Sealed whole by {key}."),
            (Some(at), true) => format!("Sealed up to {at} by {key}; more was recorded since."),
            (None, false) => {
                format!("The chain of records is as it was sealed by {key}; what is told above is not.")
            }
            (Some(at), false) => format!(
                "The chain of records is as it was sealed by {key} up to {at}; more was recorded since. What is told \
                 above is not as it was."
            ),
        }
    }
}

/// Holds the seals of a book to their keys.
pub fn verified(store: &Store, audit: &Audit, stated: Option<&str>) -> Result<Verified, BookError> {
    let seals = store.seals()?;
    let owner = match stated.map(public_key).transpose() {
        Ok(owner) => owner,
        Err(why) => return Ok(Err(why)),
    };
    let (mut told, mut flaws) = (Vec::new(), Vec::new());
    for seal in seals.iter().filter(|seal| owner.is_none_or(|key| key == seal.public_key)) {
        let (at, key) = (short(seal.link), hex(&seal.public_key));
        match (holds(seal), audit.reached.contains(&seal.link)) {
            (true, true) => {
                told.push(Sealed { key, up_to: (audit.head != seal.link).then_some(at) });
            }
            (true, false) => flaws.push(format!("the seal of {key}: the chain does not lead to {at}")),
            (false, _) => flaws.push(format!("the seal of {key} at {at}: the signature is not that key's")),
        }
    }
    if let (Some(stated), true) = (stated, told.is_empty()) {
        // As it was stated, and not the key: the file may be that of the secret one.
        flaws.push(format!("no seal of the public key {stated} holds; its file ends in .pub"));
    }
    Ok(Ok((told, flaws)))
}

fn holds(seal: &Seal) -> bool {
    let signature = Signature::from_bytes(&seal.signature);
    let key = VerifyingKey::from_bytes(&seal.public_key);
    key.is_ok_and(|key| key.verify_strict(&message(seal.link), &signature).is_ok())
}

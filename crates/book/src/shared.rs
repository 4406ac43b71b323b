//! Pictures that are told to show several faces, which one picture cannot: a slip when they were saved or named.

use crate::face::Face;
use crate::ferrule::Stranger;
use crate::hash::Hash;
use crate::register::{Known, Past, Register};
use std::collections::BTreeMap;
use terms::words::listed;

/// A picture and the faces that it is told to show; at least two.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shared {
    /// The hash of its bytes.
    pub sha256: Hash,
    /// The name of its file, as it was first given.
    pub file: String,
    /// The faces, in the order of the looks at them.
    pub faces: Vec<Face>,
}

impl Shared {
    /// That it shows other faces, too, said of one of them: without the end of a sentence.
    pub fn beside(&self, face: &Face) -> String {
        const NAMED: usize = 3;
        let others: Vec<String> =
            self.faces.iter().filter(|other| *other != face).map(Face::to_string).collect();
        let named = others.iter().take(NAMED).cloned();
        let more = others.len().saturating_sub(NAMED);
        let all = listed(named.chain((more > 0).then(|| format!("{more} more"))));
        format!("its picture {} is told to show {all}, too, and no picture shows two faces", self.file)
    }
}

/// Every such picture, in the order of the first look that names it.
pub fn shared(register: &Register) -> Vec<Shared> {
    let mut numbers: BTreeMap<Hash, usize> = BTreeMap::new();
    let mut all: Vec<Shared> = Vec::new();
    for (_, _, past) in &register.past {
        let Past::Look(look) = past else { continue };
        for told in &look.pictures {
            let number = *numbers.entry(told.sha256).or_insert(all.len());
            match all.get_mut(number) {
                None => {
                    let (sha256, file) = (told.sha256, told.file.clone());
                    all.push(Shared { sha256, file, faces: vec![look.face.clone()] });
                }
                Some(known) if known.faces.contains(&look.face) => {}
                Some(known) => known.faces.push(look.face.clone()),
            }
        }
    }
    all.retain(|picture| picture.faces.len() > 1);
    all
}

/// Faces whose last look shows a picture that is told to show another face, too.
pub fn sharing(register: &Register) -> Vec<Stranger> {
    let shared = shared(register);
    let one = |known: &Known| {
        let last = register.looks(&known.face).next_back()?;
        let is_of = |picture: &&Shared| last.pictures.iter().any(|told| told.sha256 == picture.sha256);
        let picture = shared.iter().find(is_of)?;
        Some(Stranger { face: known.face.clone(), why: picture.beside(&known.face) })
    };
    register.faces.iter().filter_map(one).collect()
}

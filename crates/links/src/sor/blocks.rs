//! The map at the head of the file: which blocks there are and where each lies.

use super::SorError;
use super::bytes::Bytes;

/// One block: its name, where its body lies.
struct Block {
    name: String,
    at: usize,
    end: usize,
}

/// The blocks of a file, in its order.
pub(crate) struct Blocks<'a> {
    file: &'a [u8],
    /// Format in hundredths.
    pub format: u16,
    /// Whether it is format 2, in which every block begins with its own name.
    pub two: bool,
    blocks: Vec<Block>,
}

/// Reads the map and checks that every block lies within the file.
pub(crate) fn read(file: &[u8]) -> Result<Blocks<'_>, SorError> {
    let two = file.starts_with(b"Map\0");
    let mut bytes = Bytes::new("Map", file, if two { 4 } else { 0 }, file.len());
    let format = bytes.u16("revision").map_err(|_| SorError::Foreign("it is too short"))?;
    let fits = if two { (200..300).contains(&format) } else { (100..200).contains(&format) };
    if !fits {
        return Err(SorError::Foreign("its first bytes are no map of format 1 or 2"));
    }
    let size = bytes.u32("size")? as usize;
    let count = bytes.u16("number of blocks")?;
    let (mut blocks, mut at) = (Vec::new(), size);
    for _ in 1..count {
        let name = bytes.terminated("name of a block")?;
        bytes.u16("revision of a block")?;
        let length = bytes.u32("size of a block")? as usize;
        let end = at.checked_add(length).filter(|end| *end <= file.len());
        let Some(end) = end else {
            return Err(bytes.wrong(format!("block {name} would end after the file's last byte")));
        };
        blocks.push(Block { name, at, end });
        at = end;
    }
    if bytes.at() != size {
        return Err(
            bytes.wrong(format!("it says that it ends at byte {size} and ends at byte {}", bytes.at()))
        );
    }
    if at != file.len() {
        return Err(bytes.wrong(format!("{} bytes follow the last block", file.len() - at)));
    }
    Ok(Blocks { file, format, two, blocks })
}

impl<'a> Blocks<'a> {
    /// The body of a block, behind its name; a repeated name is the first of them.
    pub fn find(&self, name: &str) -> Option<Bytes<'a>> {
        let block = self.blocks.iter().find(|b| b.name == name)?;
        let mut at = block.at;
        if self.two && self.file.get(at..).is_some_and(|rest| rest.starts_with(name.as_bytes())) {
            at += name.len() + 1;
        }
        Some(Bytes::new(name, self.file, at, block.end))
    }

    pub fn need(&self, name: &'static str) -> Result<Bytes<'a>, SorError> {
        self.find(name).ok_or(SorError::NoBlock(name))
    }
}

//! A disk that loses power: what the records of a process leave on it.
//!
//! The model is what SQLite asks of a disk (sqlite.org/atomiccommit.html, section 2; sqlite.org/psow.html), taken at its
//! worst. What was flushed is there. Of what was written since, each sector of 512 bytes may have reached the disk or not,
//! in any order, and now and then only the first part of what was written to it; bytes that nobody wrote to stay as they
//! are. A file may have grown before its new bytes came, and then holds zeros or rubbish there. A name that was given or
//! removed is sure only when its folder was flushed; without that, names come in the order in which they were given, or in
//! none. A rename happens or does not, and is sure when either folder was flushed: no file system that anybody keeps a
//! catalogue on does half of it. A file in a folder whose own name is lost is lost.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

use crate::{
    dice::Dice,
    journal::{Files, Record},
};

const SECTOR: usize = 512;

/// One torn sector in so many that reach the disk.
const TORN_OF: u64 = 16;

/// What a folder holds, by path.
pub(crate) type Contents = BTreeMap<PathBuf, Vec<u8>>;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Node {
    File(usize),
    Folder,
}

type Names = BTreeMap<PathBuf, Node>;

/// A name given or removed, or a rename, which is one step with two names.
#[derive(Debug, Clone)]
struct Move(Vec<(PathBuf, Option<Node>)>);

#[derive(Debug, Clone)]
enum Change {
    Write { at: usize, bytes: Vec<u8> },
    Length(usize),
}

#[derive(Debug, Clone, Default)]
struct Blocks {
    /// What is surely on the disk.
    sure: Vec<u8>,
    /// What was done since.
    since: Vec<Change>,
    /// What the process sees.
    seen: Vec<u8>,
}

/// A disk in use.
#[derive(Debug, Clone)]
pub(crate) struct Disk {
    files: Vec<Blocks>,
    by_inode: BTreeMap<u64, usize>,
    sure: Names,
    since: Vec<Move>,
    seen: Names,
    /// Says that it has flushed, and has not.
    is_deaf: bool,
}

impl Disk {
    /// A disk on which all is flushed. A deaf one takes every later flush and does nothing.
    pub(crate) fn new(files: &Files, is_deaf: bool) -> Self {
        let mut disk = Disk {
            files: Vec::new(),
            by_inode: BTreeMap::new(),
            sure: Names::new(),
            since: Vec::new(),
            seen: Names::new(),
            is_deaf,
        };
        for (path, (inode, bytes)) in files {
            for folder in path.ancestors().skip(1).filter(|it| !it.as_os_str().is_empty()) {
                disk.sure.insert(folder.to_owned(), Node::Folder);
            }
            let node = disk.add(*inode);
            if let Node::File(at) = node {
                let bytes = bytes.clone();
                disk.files[at] = Blocks { sure: bytes.clone(), since: Vec::new(), seen: bytes };
            }
            disk.sure.insert(path.clone(), node);
        }
        disk.seen.clone_from(&disk.sure);
        disk
    }

    fn add(&mut self, inode: u64) -> Node {
        self.files.push(Blocks::default());
        self.by_inode.insert(inode, self.files.len() - 1);
        Node::File(self.files.len() - 1)
    }

    fn named(&mut self, steps: Vec<(PathBuf, Option<Node>)>) {
        for (path, node) in &steps {
            put(&mut self.seen, path, *node);
        }
        self.since.push(Move(steps));
    }

    fn file(&mut self, inode: u64) -> Result<&mut Blocks, String> {
        let at = self.by_inode.get(&inode);
        at.map(|it| &mut self.files[*it]).ok_or(format!("a file {inode} that nobody made"))
    }

    /// Does what a record says.
    pub(crate) fn follow(&mut self, record: &Record) -> Result<(), String> {
        match record {
            Record::Made { inode, path } => {
                let node = self.add(*inode);
                self.named(vec![(path.clone(), Some(node))]);
            }
            Record::Wrote { inode, at, bytes } => {
                let file = self.file(*inode)?;
                write(&mut file.seen, *at, bytes, &mut |gap| gap.fill(0));
                file.since.push(Change::Write { at: *at, bytes: bytes.clone() });
            }
            Record::Length { inode, length } => {
                let file = self.file(*inode)?;
                file.seen.resize(*length, 0);
                file.since.push(Change::Length(*length));
            }
            Record::Flushed { inode } if !self.is_deaf => {
                let file = self.file(*inode)?;
                file.sure.clone_from(&file.seen);
                file.since.clear();
            }
            Record::NamesFlushed { path } if !self.is_deaf => {
                let is_of = |it: &Move| it.0.iter().any(|(name, _)| name.parent() == Some(path));
                let (done, left) = std::mem::take(&mut self.since).into_iter().partition(is_of);
                self.since = left;
                let done: Vec<Move> = done;
                done.iter().for_each(|it| it.take(&mut self.sure));
            }
            Record::Folder { path } => self.named(vec![(path.clone(), Some(Node::Folder))]),
            Record::Renamed { from, to } => {
                let node = self.seen.get(from).copied();
                if node == Some(Node::Folder) {
                    return Err(format!("{} is a folder and was renamed", from.display()));
                }
                self.named(vec![(from.clone(), None), (to.clone(), node)]);
            }
            Record::Linked { from, to } => {
                let node = self.seen.get(from).copied();
                self.named(vec![(to.clone(), node)]);
            }
            Record::Removed { path } => self.named(vec![(path.clone(), None)]),
            Record::Flushed { .. } | Record::NamesFlushed { .. } | Record::Said { .. } => {}
        }
        Ok(())
    }

    /// What a killed process leaves: all that it did.
    pub(crate) fn seen(&self) -> Contents {
        reachable(&self.seen)
            .map(|(path, at)| (path.clone(), self.files[at].seen.clone()))
            .collect()
    }

    /// What is left when nothing but what was flushed is there.
    pub(crate) fn sure(&self) -> Contents {
        reachable(&self.sure)
            .map(|(path, at)| (path.clone(), self.files[at].sure.clone()))
            .collect()
    }

    /// Whether a power cut could leave something else than [`Disk::seen`].
    pub(crate) fn is_settled(&self) -> bool {
        self.since.is_empty() && self.files.iter().all(|it| it.since.is_empty())
    }

    /// What a power cut leaves, as the dice will have it.
    pub(crate) fn cut(&self, dice: &mut Dice) -> Contents {
        let chance = [0.0, 0.1, 0.5, 0.9, 1.0][usize::try_from(dice.below(5)).unwrap()];
        let mut names = self.sure.clone();
        if dice.below(2) == 0 {
            let upto = dice.below(self.since.len() as u64 + 1);
            let done = self.since.iter().take(usize::try_from(upto).unwrap());
            done.for_each(|it| it.take(&mut names));
        } else {
            self.since.iter().filter(|_| dice.share() < chance).for_each(|it| it.take(&mut names));
        }
        let mut contents = Contents::new();
        let mut drawn: BTreeMap<usize, Vec<u8>> = BTreeMap::new();
        for (path, at) in reachable(&names) {
            let bytes = drawn.entry(at).or_insert_with(|| self.files[at].cut(chance, dice));
            contents.insert(path.clone(), bytes.clone());
        }
        contents
    }
}

impl Move {
    fn take(&self, names: &mut Names) {
        for (path, node) in &self.0 {
            put(names, path, *node);
        }
    }
}

fn put(names: &mut Names, path: &Path, node: Option<Node>) {
    match node {
        Some(it) => drop(names.insert(path.to_owned(), it)),
        None => drop(names.remove(path)),
    }
}

/// The files all of whose folders are there.
fn reachable(names: &Names) -> impl Iterator<Item = (&PathBuf, usize)> {
    let is_folder = |it: &Path| it.as_os_str().is_empty() || names.get(it) == Some(&Node::Folder);
    names.iter().filter_map(move |(path, node)| match node {
        Node::File(at) if path.ancestors().skip(1).all(is_folder) => Some((path, *at)),
        _ => None,
    })
}

/// Writes bytes at a place; what lies between the end of the file and that place is filled.
fn write(file: &mut Vec<u8>, at: usize, bytes: &[u8], fill: &mut dyn FnMut(&mut [u8])) {
    let end = file.len();
    if end < at + bytes.len() {
        file.resize(at + bytes.len(), 0);
        if end < at {
            fill(&mut file[end..at]);
        }
    }
    file[at..at + bytes.len()].copy_from_slice(bytes);
}

impl Blocks {
    fn cut(&self, chance: f64, dice: &mut Dice) -> Vec<u8> {
        let mut file = self.sure.clone();
        if self.since.is_empty() {
            return file;
        }
        let rubbish = if dice.below(2) == 0 { 0 } else { dice.next() | 1 };
        let mut fill = |gap: &mut [u8]| {
            let mut word = rubbish;
            for byte in gap {
                *byte = word.to_le_bytes()[7];
                word = word.wrapping_mul(6_364_136_223_846_793_005);
            }
        };
        let mut longest = file.len();
        for change in &self.since {
            match change {
                Change::Length(length) => {
                    if dice.share() < chance {
                        file.resize(*length, 0);
                        longest = *length;
                    }
                }
                Change::Write { at, bytes } => {
                    longest = longest.max(at + bytes.len());
                    for (at, sector) in sectors(*at, bytes) {
                        if dice.share() >= chance {
                            continue;
                        }
                        let torn = dice.below(TORN_OF) == 0;
                        let there = if torn {
                            dice.below(sector.len() as u64)
                        } else {
                            sector.len() as u64
                        };
                        write(&mut file, at, &sector[..usize::try_from(there).unwrap()], &mut fill);
                    }
                }
            }
        }
        if file.len() < longest && dice.share() < chance {
            let end = file.len();
            file.resize(longest, 0);
            fill(&mut file[end..]);
        }
        file
    }
}

/// Bytes at a place, parted where sectors end.
fn sectors(at: usize, bytes: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    let mut done = 0;
    std::iter::from_fn(move || {
        let here = at + done;
        let length = (SECTOR - here % SECTOR).min(bytes.len() - done);
        let part = &bytes[done..done + length];
        done += length;
        (length > 0).then_some((here, part))
    })
}

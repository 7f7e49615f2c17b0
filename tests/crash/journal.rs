//! What a process did to the files of a folder, in the order in which it did it.
//!
//! `journal.c` stands between the process and the C library and notes each step; here it is compiled, put in front of a
//! command, and its records are read. The program that is watched is the built one, and nothing in it knows of this.

use std::{
    collections::BTreeMap,
    fs,
    os::unix::fs::MetadataExt,
    path::{Path, PathBuf},
    process::Command,
    sync::OnceLock,
};

/// Whether there is such a thing as a library that is loaded in front of the C library.
pub(crate) const IS_POSSIBLE: bool = cfg!(all(target_os = "linux", target_env = "gnu"));

/// One step; paths are those inside the folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Record {
    /// A file was made.
    Made { inode: u64, path: PathBuf },
    /// Bytes were written.
    Wrote { inode: u64, at: usize, bytes: Vec<u8> },
    /// A file was cut off, or made longer with zeros.
    Length { inode: u64, length: usize },
    /// A file was flushed to the disk.
    Flushed { inode: u64 },
    /// A folder was made.
    Folder { path: PathBuf },
    /// The names in a folder were flushed to the disk.
    NamesFlushed { path: PathBuf },
    /// A file got another name.
    Renamed { from: PathBuf, to: PathBuf },
    /// A file got a second name.
    Linked { from: PathBuf, to: PathBuf },
    /// A name was removed.
    Removed { path: PathBuf },
    /// Something was said on standard output.
    Said { text: String },
}

/// The files of a folder by their path in it, each with its inode.
pub(crate) type Files = BTreeMap<PathBuf, (u64, Vec<u8>)>;

/// All files of a folder, without the indices of write-ahead logs, which nobody keeps.
pub(crate) fn gather(root: &Path) -> Files {
    let (mut files, mut folders) = (Files::new(), vec![root.to_owned()]);
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if !path.to_string_lossy().ends_with("-shm") {
                let inode = fs::metadata(&path).unwrap().ino();
                let name = path.strip_prefix(root).unwrap().to_owned();
                files.insert(name, (inode, fs::read(&path).unwrap()));
            }
        }
    }
    files
}

/// Lets a command note what it does in `folder` in the file `to`; with a number above 0 it is killed after so many steps.
pub(crate) fn noted(command: &mut Command, folder: &Path, to: &Path, stop: u64) {
    command
        .env("LD_PRELOAD", library())
        .env("JOURNAL_ROOT", folder)
        .env("JOURNAL_FILE", to)
        .env("JOURNAL_STOP", stop.to_string());
}

/// The compiled `journal.c`.
fn library() -> &'static Path {
    static LIBRARY: OnceLock<PathBuf> = OnceLock::new();
    LIBRARY.get_or_init(|| {
        let library = Path::new(env!("CARGO_TARGET_TMPDIR")).join("journal.so");
        // Two runs at once each make their own, and the later name stands.
        let part = library.with_extension(std::process::id().to_string());
        let mut cc = tests::command("cc");
        cc.args(["-std=gnu11", "-Wall", "-Wextra", "-Werror", "-O1", "-fPIC", "-shared"]);
        cc.arg("-pthread").arg("-o").arg(&part).arg("tests/crash/journal.c").arg("-ldl");
        let _ = tests::succeed(&mut cc);
        fs::rename(&part, &library).unwrap();
        library
    })
}

/// The records of a file; the last one may be cut off.
pub(crate) fn read(file: &Path) -> Result<Vec<Record>, String> {
    let all = fs::read(file).unwrap_or_default();
    let mut rest = &all[..];
    let mut records = Vec::new();
    while let Some((head, after)) = rest.split_first_chunk::<25>() {
        let number = |at: usize| u64::from_ne_bytes(head[at..at + 8].try_into().unwrap());
        let (inode, second) = (number(1), usize::try_from(number(9)).unwrap());
        let Some((more, after)) = after.split_at_checked(usize::try_from(number(17)).unwrap())
        else {
            break;
        };
        rest = after;
        let path = |bytes: &[u8]| PathBuf::from(String::from_utf8(bytes.to_vec()).unwrap());
        let two = || (path(&more[..second]), path(&more[second..]));
        records.push(match head[0] {
            b'C' => Record::Made { inode, path: path(more) },
            b'W' => Record::Wrote { inode, at: second, bytes: more.to_vec() },
            b'T' => Record::Length { inode, length: second },
            b'S' => Record::Flushed { inode },
            b'M' => Record::Folder { path: path(more) },
            b'D' if more == b"/" => Record::NamesFlushed { path: PathBuf::new() },
            b'D' => Record::NamesFlushed { path: path(more) },
            b'R' => {
                let (from, to) = two();
                Record::Renamed { from, to }
            }
            b'L' => {
                let (from, to) = two();
                Record::Linked { from, to }
            }
            b'U' => Record::Removed { path: path(more) },
            b'A' => Record::Said { text: String::from_utf8_lossy(more).into_owned() },
            other => return Err(format!("the journal has a record {other}")),
        });
    }
    Ok(records)
}

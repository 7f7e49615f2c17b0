//! Files on disk: which are there, and what keeps a hostile folder from reaching outside itself.
//!
//! No symbolic link is followed below the folder, nothing but plain files is opened, and no file over 1 MiB is read.

use std::{
    fs,
    io::{self, Read},
    path::{Component, Path, PathBuf},
};

use super::fault::{Faults, Refusal};

/// The name of the file that makes a folder a catalogue.
pub(super) const CATALOGUE: &str = "catalogue.toml";

/// The largest file that is read, in bytes.
const LARGEST: u64 = 1 << 20;

/// The accepted place of a product file.
const PRODUCT: &str = "products/<maker>/<model>.toml";

/// The folder that all paths of a catalogue start from.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Base(PathBuf);

/// Why a file was not read.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Unreadable {
    /// The path leads to no file of the folder: a fault of the place that names it.
    Path(String),
    /// The file is there, and is not as it must be: a fault of the file.
    Content { line: Option<u32>, why: Refusal },
}

impl Base {
    /// A folder as the user gave it.
    pub(super) fn new(dir: &Path) -> Self {
        Base(dir.to_owned())
    }

    /// The folder of a product file that is read alone, and the file's path in it:
    /// the nearest folder above that holds a `catalogue.toml`, else its own.
    ///
    /// # Errors
    /// When the folder that holds the file cannot be found.
    pub(super) fn of_file(file: &Path) -> io::Result<(Self, String)> {
        let name = file.file_name().ok_or(io::ErrorKind::InvalidInput)?;
        let parent =
            file.parent().filter(|it| !it.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let parent = fs::canonicalize(parent)?;
        let base = parent.ancestors().find(|it| it.join(CATALOGUE).is_file()).unwrap_or(&parent);
        let inside = parent.strip_prefix(base).unwrap_or(Path::new("")).join(name);
        Ok((Base(base.to_owned()), slashed(&inside)))
    }

    /// Whether the folder holds a `catalogue.toml`.
    pub(super) fn is_catalogue(&self) -> bool {
        self.0.join(CATALOGUE).symlink_metadata().is_ok()
    }

    /// Reads a text file below the folder; line ends come out as `\n`.
    ///
    /// # Errors
    /// [`Unreadable`], with the line where the text is not UTF-8.
    pub(super) fn read(&self, path: &str) -> Result<String, Unreadable> {
        let content = |message: String, accepted: &str| {
            Err(Unreadable::Content { line: None, why: Refusal::new(message, accepted) })
        };
        let full = self.inside(path)?;
        let mut bytes = Vec::new();
        let read =
            fs::File::open(&full).and_then(|it| it.take(LARGEST + 1).read_to_end(&mut bytes));
        if let Err(why) = read {
            return content(
                format!("the file cannot be read: {}", why.kind()),
                "a file that you may read",
            );
        }
        if bytes.len() as u64 > LARGEST {
            return content("the file is larger than 1 MiB".into(), "at most 1 MiB");
        }
        match String::from_utf8(bytes) {
            Ok(text) => Ok(text.strip_prefix('\u{feff}').unwrap_or(&text).replace("\r\n", "\n")),
            Err(why) => {
                let good = why.utf8_error().valid_up_to();
                let line = 1 + why.as_bytes()[..good].iter().filter(|it| **it == b'\n').count();
                let why = Refusal::new("the text is not UTF-8", "text in UTF-8");
                Err(Unreadable::Content { line: u32::try_from(line).ok(), why })
            }
        }
    }

    /// The full path of a plain file below the folder.
    fn inside(&self, path: &str) -> Result<PathBuf, Unreadable> {
        let refuse = |what: &str| Err(Unreadable::Path(format!("{path:?} {what}")));
        let mut full = self.0.clone();
        let mut is_file = false;
        let written = Path::new(path);
        if path.is_empty() || path.contains(['\\', '\0']) || slashed(written) != path {
            return refuse("is no plain path with single forward slashes");
        }
        for it in written.components() {
            let Component::Normal(name) = it else {
                return refuse("leads out of the folder or is not written from it");
            };
            full.push(name);
            let kind = match fs::symlink_metadata(&full) {
                Ok(it) => it.file_type(),
                Err(why) if why.kind() == io::ErrorKind::NotFound => return refuse("is not there"),
                Err(why) => return refuse(&format!("cannot be reached: {}", why.kind())),
            };
            if kind.is_symlink() {
                return refuse("is or passes through a symbolic link");
            }
            is_file = kind.is_file();
        }
        if is_file { Ok(full) } else { refuse("is not a file") }
    }

    /// The product files of the folder, by name; what stands among them and is none is a fault.
    ///
    /// Names that start with a dot and `README.md` are passed over.
    pub(super) fn product_files(&self, faults: &mut Faults) -> Vec<String> {
        let mut files = Vec::new();
        let top = self.0.join("products");
        match fs::symlink_metadata(&top) {
            Ok(it) if it.is_dir() => {}
            Ok(_) => {
                faults.add("products", None, "", Refusal::new("is not a folder", PRODUCT));
                return files;
            }
            // A catalogue without products is one that was just begun.
            Err(_) => return files,
        }
        for (maker, is_dir) in entries(&top, "products", faults) {
            let path = format!("products/{maker}");
            if !is_dir {
                faults.add(
                    &path,
                    None,
                    "",
                    Refusal::new("stands where makers' folders are", PRODUCT),
                );
                continue;
            }
            for (model, is_dir) in entries(&top.join(&maker), &path, faults) {
                let path = format!("{path}/{model}");
                if is_dir || !model.ends_with(".toml") {
                    faults.add(&path, None, "", Refusal::new("is not a product file", PRODUCT));
                } else {
                    files.push(path);
                }
            }
        }
        files
    }
}

/// The names in a folder, sorted, and whether each is a folder.
fn entries(dir: &Path, shown: &str, faults: &mut Faults) -> Vec<(String, bool)> {
    let mut found = Vec::new();
    let listed = fs::read_dir(dir).and_then(Iterator::collect::<io::Result<Vec<_>>>);
    let listed = listed.unwrap_or_else(|why| {
        let why = Refusal::new(
            format!("the folder cannot be read: {}", why.kind()),
            "a folder that you may read",
        );
        faults.add(shown, None, "", why);
        Vec::new()
    });
    for it in listed {
        let name = it.file_name();
        let path = format!("{shown}/{}", name.to_string_lossy());
        let refused = match (name.to_str(), it.file_type()) {
            (Some(name), _) if name.starts_with('.') || name == "README.md" => continue,
            (None, _) => Refusal::new("the name is not UTF-8", PRODUCT),
            (_, Ok(kind)) if kind.is_symlink() => {
                Refusal::new("is a symbolic link, which is not followed", "the file itself")
            }
            (Some(name), Ok(kind)) => {
                found.push((name.to_owned(), kind.is_dir()));
                continue;
            }
            (_, Err(why)) => Refusal::new(format!("cannot be reached: {}", why.kind()), PRODUCT),
        };
        faults.add(&path, None, "", refused);
    }
    found.sort_unstable();
    found
}

/// A path with forward slashes, for messages.
pub(super) fn slashed(path: &Path) -> String {
    let mut out = String::new();
    for it in path.components() {
        if !(out.is_empty() || out.ends_with('/')) {
            out.push('/');
        }
        match it {
            Component::RootDir => out.push('/'),
            other => out.push_str(&other.as_os_str().to_string_lossy()),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> (tempfile::TempDir, Base) {
        let dir = tempfile::tempdir().unwrap();
        let base = Base::new(dir.path());
        (dir, base)
    }

    fn path_fault(base: &Base, path: &str) -> String {
        match base.read(path) {
            Err(Unreadable::Path(why)) => why,
            other => panic!("{path}: {other:?}"),
        }
    }

    #[test]
    fn a_path_stays_in_the_folder() {
        let (dir, base) = folder();
        fs::create_dir(dir.path().join("sub")).unwrap();
        fs::write(dir.path().join("sub/a.csv"), "x\r\ny\r\n").unwrap();
        assert_eq!(base.read("sub/a.csv").unwrap(), "x\ny\n");
        let out = "leads out of the folder or is not written from it";
        let plain = "is no plain path with single forward slashes";
        for (path, why) in [
            ("../a.csv", out),
            ("sub/../sub/a.csv", out),
            ("/etc/hostname", out),
            ("./sub/a.csv", out),
            ("", plain),
            ("sub\\a.csv", plain),
            ("sub//a.csv", plain),
            ("sub/./a.csv", plain),
            ("sub/a.csv/", plain),
            ("sub", "is not a file"),
            ("sub/b.csv", "is not there"),
        ] {
            assert_eq!(path_fault(&base, path), format!("{path:?} {why}"));
        }
    }

    #[cfg(unix)]
    #[test]
    fn no_symbolic_link_is_followed() {
        let (dir, base) = folder();
        let (other, _) = folder();
        fs::write(other.path().join("a.csv"), "x").unwrap();
        std::os::unix::fs::symlink(other.path(), dir.path().join("out")).unwrap();
        std::os::unix::fs::symlink(other.path().join("a.csv"), dir.path().join("a.csv")).unwrap();
        for path in ["out/a.csv", "a.csv"] {
            assert_eq!(
                path_fault(&base, path),
                format!("{path:?} is or passes through a symbolic link")
            );
        }
    }

    #[test]
    fn size_and_encoding_are_checked() {
        let (dir, base) = folder();
        let write = |name: &str, bytes: &[u8]| fs::write(dir.path().join(name), bytes).unwrap();
        write("most", &vec![b'x'; 1 << 20]);
        write("large", &vec![b'x'; (1 << 20) + 1]);
        write("latin", b"a\nb\nK\xf6ln\n");
        write("bom", "\u{feff}a".as_bytes());
        assert_eq!(base.read("most").unwrap().len(), 1 << 20);
        let content = |line, message: &str, accepted: &str| {
            Err(Unreadable::Content { line, why: Refusal::new(message, accepted) })
        };
        assert_eq!(
            base.read("large"),
            content(None, "the file is larger than 1 MiB", "at most 1 MiB")
        );
        assert_eq!(base.read("latin"), content(Some(3), "the text is not UTF-8", "text in UTF-8"));
        assert_eq!(base.read("bom").unwrap(), "a");
    }

    #[test]
    fn what_is_no_product_file_is_named() {
        let (dir, base) = folder();
        let mut faults = Faults::default();
        assert!(base.product_files(&mut faults).is_empty());
        for it in ["products/b", "products/a/deep.toml", "products/.git"] {
            fs::create_dir_all(dir.path().join(it)).unwrap();
        }
        for it in
            ["b/2.toml", "b/1.toml", "b/1.toml~", "b/.1.swp", "a/x.toml", "README.md", "stray.toml"]
        {
            fs::write(dir.path().join("products").join(it), "").unwrap();
        }
        let files = base.product_files(&mut faults);
        assert_eq!(files, ["products/a/x.toml", "products/b/1.toml", "products/b/2.toml"]);
        let shown: Vec<String> =
            faults.finish().unwrap_err().iter().map(ToString::to_string).collect();
        assert_eq!(
            shown,
            [
                "products/a/deep.toml: is not a product file; accepted: products/<maker>/<model>.toml",
                "products/b/1.toml~: is not a product file; accepted: products/<maker>/<model>.toml",
                "products/stray.toml: stands where makers' folders are; accepted: products/<maker>/<model>.toml",
            ]
        );
    }
}

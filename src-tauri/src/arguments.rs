//! What was typed after `boxworth-app`.

use std::{ffi::OsString, path::PathBuf};

pub(crate) const USAGE: &str = "\
Usage: boxworth-app [--catalogue] [FILE]

Opens the window of Boxworth on the catalogue FILE; without it, on the
one that was opened last, else on that of the command line `boxworth`.
";

/// What is asked for.
#[derive(Debug, PartialEq)]
pub(crate) enum Asked {
    /// The window, on this catalogue or on the default one.
    Window(Option<PathBuf>),
    /// How to use the program.
    Help,
    /// Its version.
    Version,
}

/// Reads the arguments that follow the program's name; the error names the one that is not understood.
pub(crate) fn parse(arguments: impl IntoIterator<Item = OsString>) -> Result<Asked, String> {
    let mut catalogue = None;
    let mut rest = arguments.into_iter();
    while let Some(argument) = rest.next() {
        let text = argument.to_string_lossy();
        if text == "--help" || text == "-h" {
            return Ok(Asked::Help);
        } else if text == "--version" || text == "-V" {
            return Ok(Asked::Version);
        } else if text == "--catalogue" {
            match rest.next() {
                Some(file) if !file.is_empty() => catalogue = Some(PathBuf::from(file)),
                _ => return Err("--catalogue: a file must follow".to_owned()),
            }
        } else if !argument.is_empty() && !text.starts_with('-') {
            // A file that was opened from a folder comes alone.
            catalogue = Some(PathBuf::from(&argument));
        } else {
            return Err(format!(
                "{text:?} is not understood; accepted: FILE, --catalogue FILE, --help, --version"
            ));
        }
    }
    Ok(Asked::Window(catalogue))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(list: &[&str]) -> Result<Asked, String> {
        parse(list.iter().map(OsString::from))
    }

    #[test]
    fn a_catalogue_can_be_named() {
        assert_eq!(read(&[]), Ok(Asked::Window(None)));
        assert_eq!(
            read(&["--catalogue", "a b.boxworth"]),
            Ok(Asked::Window(Some("a b.boxworth".into())))
        );
        assert_eq!(read(&["a b.boxworth"]), Ok(Asked::Window(Some("a b.boxworth".into()))));
    }

    #[test]
    fn the_last_of_two_catalogues_counts() {
        assert_eq!(
            read(&["--catalogue", "a", "--catalogue", "b"]),
            Ok(Asked::Window(Some("b".into())))
        );
    }

    #[test]
    fn what_is_not_understood_is_named() {
        assert!(read(&["--catalog", "a"]).expect_err("accepted").contains("--catalog"));
        assert!(read(&[""]).expect_err("accepted").contains("FILE"));
        assert!(read(&["--catalogue"]).expect_err("accepted").contains("a file must follow"));
    }

    #[test]
    fn help_and_version_open_no_window() {
        assert_eq!(read(&["--help"]), Ok(Asked::Help));
        assert_eq!(read(&["-V", "nonsense"]), Ok(Asked::Version));
    }
}

//! SHA-256 of files, by which plugins are known.

use std::fmt;
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;
use std::str::FromStr;

use sha2::{Digest, Sha256};

/// A SHA-256 sum. Displays as, and parses from, 64 hexadecimal digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Sha256Sum(pub [u8; 32]);

impl Sha256Sum {
    /// The sum of some bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Sha256Sum(Sha256::digest(bytes).into())
    }
}

/// A text that is no SHA-256 sum.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a SHA-256 sum of 64 hexadecimal digits")]
pub struct NotASum(String);

impl fmt::Display for Sha256Sum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl FromStr for Sha256Sum {
    type Err = NotASum;

    fn from_str(text: &str) -> Result<Self, NotASum> {
        let wrong = || NotASum(text.to_owned());
        if text.len() != 64 || !text.bytes().all(|it| it.is_ascii_hexdigit()) {
            return Err(wrong());
        }
        let mut sum = [0; 32];
        for (i, byte) in sum.iter_mut().enumerate() {
            *byte = u8::from_str_radix(&text[2 * i..2 * i + 2], 16).map_err(|_| wrong())?;
        }
        Ok(Sha256Sum(sum))
    }
}

/// The SHA-256 sum of a file's bytes.
///
/// # Errors
/// When the file cannot be read.
pub fn sha256_file(path: &Path) -> io::Result<Sha256Sum> {
    let mut file = File::open(path)?;
    let mut hasher = Sha256::new();
    let mut buffer = vec![0; 64 * 1024];
    loop {
        match file.read(&mut buffer) {
            Ok(0) => return Ok(Sha256Sum(hasher.finalize().into())),
            Ok(n) => hasher.update(&buffer[..n]),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Sha256Sum, sha256_file};

    /// The sum of "abc" is the worked example of FIPS 180-4 (NIST, SHA-256 example values).
    #[test]
    fn sum_of_a_file_is_that_of_the_standard() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("abc");
        std::fs::write(&path, "abc").unwrap();
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        let sum = sha256_file(&path).unwrap();
        assert_eq!(sum.to_string(), expected);
        assert_eq!(expected.parse(), Ok(sum));
        assert_eq!(Sha256Sum::of(b"abc"), sum);
    }

    #[test]
    fn text_that_is_no_sum_is_refused() {
        for text in ["", "ba78", &"g".repeat(64), &"é".repeat(32)] {
            assert!(text.parse::<Sha256Sum>().is_err(), "{text}");
        }
    }
}

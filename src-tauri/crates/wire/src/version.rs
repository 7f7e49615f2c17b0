//! The greeting, by which both ends know that they come from one build.

use serde::{Deserialize, Serialize};

/// First bytes of a greeting.
pub const MAGIC: [u8; 8] = *b"boxworkr";
/// Version 1: the first.
pub const WIRE_VERSION: u32 = 1;
/// Version of the application and a hash of the messages' source: two builds that agree here understand each other.
pub const BUILD: (&str, u64) = (env!("CARGO_PKG_VERSION"), fnv1a(include_bytes!("message.rs")));
/// Environment variable that the host sets for a worker, which refuses to run without it.
pub const START_MARK: &str = "BOXWORTH_STARTED_BY_HOST";

/// A worker's greeting.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hello {
    /// [`MAGIC`].
    pub magic: [u8; 8],
    /// [`WIRE_VERSION`].
    pub wire_version: u32,
    /// [`BUILD`], version.
    pub version: String,
    /// [`BUILD`], hash.
    pub messages: u64,
    /// The worker's process id.
    pub pid: u32,
}

/// Why a greeting was refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum HelloError {
    /// Not a worker of this application.
    #[error("the program that answered is not a Boxworth worker")]
    Stranger,
    /// A worker of another build.
    #[error("the worker is of another build: it is {theirs}, this program is {ours}")]
    OtherBuild {
        /// Version of the worker.
        theirs: String,
        /// Version of this program.
        ours: String,
    },
}

impl Hello {
    /// The greeting of a process of this build.
    #[must_use]
    pub fn new(pid: u32) -> Hello {
        let (version, messages) = BUILD;
        Hello {
            magic: MAGIC,
            wire_version: WIRE_VERSION,
            version: version.to_owned(),
            messages,
            pid,
        }
    }

    /// Checks a greeting against this build.
    ///
    /// # Errors
    /// [`HelloError`], with both versions where they differ.
    pub fn check(&self) -> Result<(), HelloError> {
        if self.magic != MAGIC {
            return Err(HelloError::Stranger);
        }
        let ours = Hello::new(self.pid);
        if *self == ours {
            return Ok(());
        }
        Err(HelloError::OtherBuild { theirs: self.name(), ours: ours.name() })
    }

    fn name(&self) -> String {
        format!("{} (wire {}, messages {:016x})", self.version, self.wire_version, self.messages)
    }
}

/// The FNV-1a hash, 64 bits: offset basis and prime as its authors published them.
const fn fnv1a(bytes: &[u8]) -> u64 {
    let mut hash = 0xcbf2_9ce4_8422_2325;
    let mut i = 0;
    while i < bytes.len() {
        hash = (hash ^ bytes[i] as u64).wrapping_mul(0x0000_0100_0000_01b3);
        i += 1;
    }
    hash
}

#[cfg(test)]
mod tests {
    use super::{Hello, HelloError, fnv1a};

    #[test]
    fn greeting_of_another_build_names_both() {
        assert_eq!(Hello::new(7).check(), Ok(()));
        let error = Hello { version: "9.9.9".to_owned(), ..Hello::new(7) }.check().unwrap_err();
        assert!(
            error.to_string().contains("9.9.9")
                && error.to_string().contains(env!("CARGO_PKG_VERSION"))
        );
        assert_eq!(
            Hello { magic: *b"GET / HT", ..Hello::new(7) }.check(),
            Err(HelloError::Stranger)
        );
    }

    /// Test values of the published FNV reference code, from memory: empty input is the offset basis; "a" and "foobar".
    #[test]
    fn hash_is_fnv1a() {
        assert_eq!(fnv1a(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv1a(b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(fnv1a(b"foobar"), 0x8594_4171_f739_67e8);
    }
}

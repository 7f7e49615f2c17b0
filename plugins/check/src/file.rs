//! The file as it lies on the disk: its bytes are read once, hashed, and its table of symbols is looked at. Nothing is
//! loaded here.

use std::env::consts::ARCH;
use std::fs;
use std::path::Path;

use host::{PluginFile, Sha256Sum};
use object::read::NameOrOrdinal;
use object::{Architecture, BinaryFormat, Object, ObjectKind};

use crate::Refusal;

/// The longest library that a worker takes, in bytes.
const MAX_BYTES: u64 = 256 << 20;

/// A library of this computer.
#[derive(Debug)]
pub(crate) struct Library {
    /// Its place and the hash its bytes had when they were read.
    pub(crate) file: PluginFile,
    pub(crate) size_bytes: u64,
    /// The names that it exports.
    pub(crate) exports: Vec<String>,
}

impl Library {
    pub(crate) fn read(path: &Path) -> Result<Library, Refusal> {
        let refuse = |what: String| Refusal { what };
        let unread = |why| refuse(format!("cannot be read: {why}"));
        let path = path.canonicalize().map_err(unread)?;
        let size_bytes = fs::metadata(&path).map_err(unread)?.len();
        if MAX_BYTES < size_bytes {
            return Err(refuse(format!("has {size_bytes} bytes; the limit is {MAX_BYTES}")));
        }
        let bytes = fs::read(&path).map_err(unread)?;
        let exports = exports(&bytes).map_err(refuse)?;
        let sha256 = Sha256Sum::of(&bytes);
        Ok(Library { file: PluginFile { path, sha256 }, size_bytes, exports })
    }
}

/// The exported names of a library of this computer, sorted.
fn exports(bytes: &[u8]) -> Result<Vec<String>, String> {
    let none = |why: object::Error| format!("is no dynamic library: {why}");
    let object = object::File::parse(bytes).map_err(none)?;
    let native = if cfg!(target_os = "windows") {
        BinaryFormat::Pe
    } else if cfg!(target_os = "macos") {
        BinaryFormat::MachO
    } else {
        BinaryFormat::Elf
    };
    if object.format() != native {
        return Err(format!("is a library of another system, {:?}", object.format()));
    }
    if object.kind() != ObjectKind::Dynamic {
        return Err("is no dynamic library; link it with -shared, or as a cdylib".to_owned());
    }
    if architecture(object.architecture()) != Some(ARCH) {
        let made = format!("{:?}", object.architecture());
        return Err(format!("is made for another processor, {made}; this one is {ARCH}"));
    }
    let mut names = Vec::new();
    for export in object.exports().map_err(none)? {
        let export = export.map_err(none)?;
        let NameOrOrdinal::Name(name) = export.name() else { continue };
        let name = String::from_utf8_lossy(name);
        // Names of C carry an underscore on macOS.
        let bare = name.strip_prefix('_').filter(|_| native == BinaryFormat::MachO);
        names.push(bare.unwrap_or(&name).to_owned());
    }
    names.sort();
    names.dedup();
    Ok(names)
}

fn architecture(of: Architecture) -> Option<&'static str> {
    match of {
        Architecture::X86_64 => Some("x86_64"),
        Architecture::Aarch64 => Some("aarch64"),
        Architecture::Riscv64 => Some("riscv64"),
        Architecture::PowerPc64 => Some("powerpc64"),
        Architecture::S390x => Some("s390x"),
        Architecture::LoongArch64 => Some("loongarch64"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::exports;

    #[test]
    fn what_is_no_library_is_refused() {
        for bytes in [&b""[..], b"#!/bin/sh\n", &[0; 4096], b"\x7fELF"] {
            assert!(exports(bytes).unwrap_err().starts_with("is no dynamic library"));
        }
        // A program is no library either: the one that runs this test.
        let own = std::fs::read(std::env::current_exe().unwrap()).unwrap();
        let _ = exports(&own);
    }

    /// Bytes 18 and 19 of an ELF file name the processor (System V ABI, chapter 4); 183 is AArch64, 243 RISC-V.
    #[cfg(target_os = "linux")]
    #[test]
    fn a_file_for_another_processor_is_refused() {
        let mut bytes = std::fs::read(std::env::current_exe().unwrap()).unwrap();
        bytes[18] = if cfg!(target_arch = "x86_64") { 183 } else { 62 };
        bytes[19] = 0;
        let why = exports(&bytes).unwrap_err();
        assert!(why.contains("another processor"), "{why}");
    }

    /// Relocatable files end in `.o`; type 1 in bytes 16 and 17 of an ELF file.
    #[cfg(target_os = "linux")]
    #[test]
    fn an_object_file_is_refused() {
        let mut bytes = std::fs::read(std::env::current_exe().unwrap()).unwrap();
        bytes[16] = 1;
        let why = exports(&bytes).unwrap_err();
        assert!(why.contains("-shared"), "{why}");
    }
}

//! Files that are no library of this machine are refused by name, and none of them ends more than a worker.

use std::fs;
use std::path::Path;

use host::{Blocking, Fault, FaultKind, PluginFile, sha256_file};

use crate::testing::{misbehave, options};

fn load(path: &Path) -> Result<(), Fault> {
    let sha256 = sha256_file(path).unwrap();
    let host = Blocking::new(options()).unwrap();
    host.load(&PluginFile { path: path.to_owned(), sha256 }).map(|_| ())
}

/// The bytes of an ELF header as the System V ABI has them: class at 4, machine at 18; 22 is S/390, 243 RISC-V.
#[test]
fn file_that_is_no_library_of_this_machine_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let library = fs::read(misbehave("MODE_NONE", dir.path()).path).unwrap();
    let changed = |at: usize, byte: u8| {
        let mut bytes = library.clone();
        bytes[at] = byte;
        bytes
    };
    let cases: [(&str, Vec<u8>); 6] = [
        ("empty.so", Vec::new()),
        ("text.so", b"{\"a plugin\": false}\n".to_vec()),
        ("cut.so", library[..200].to_vec()),
        ("of_32_bits.so", changed(4, 1)),
        ("s390.so", changed(18, 22)),
        ("riscv.so", changed(18, 243)),
    ];
    for (name, bytes) in cases {
        let path = dir.path().join(name);
        fs::write(&path, bytes).unwrap();
        let fault = load(&path).expect_err(name);
        assert_eq!(fault.kind, FaultKind::Refused, "{name}: {fault}");
        assert!(fault.text.contains(name), "{name}: {fault}");
        assert_eq!(fault.counts, None, "{name} is no misbehaviour: {fault}");
    }
    // The loader maps pages that are not there; it or the worker notices.
    let path = dir.path().join("half.so");
    fs::write(&path, &library[..library.len() / 2]).unwrap();
    let fault = load(&path).unwrap_err();
    assert!(matches!(fault.kind, FaultKind::Crash | FaultKind::Refused), "half: {fault}");
    let fault = {
        let file =
            PluginFile { path: dir.path().to_owned(), sha256: "0".repeat(64).parse().unwrap() };
        Blocking::new(options()).unwrap().load(&file).unwrap_err()
    };
    assert_eq!(fault.kind, FaultKind::Refused, "a folder: {fault}");
}

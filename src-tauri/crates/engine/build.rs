//! Embeds the hashes of the plugins that belong to this build.
//!
//! `cargo xtask build` makes the plugins first and writes their SHA-256 to `plugin-pins.txt` in the target folder.
//! Without that file nothing is pinned and no plugin is loaded: the program says so.

use std::{
    env, fs,
    path::{Path, PathBuf},
};

fn main() {
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    // <target>/<profile>/build/<crate>/out
    let target = out.ancestors().nth(4).unwrap_or(Path::new("."));
    let pins = target.join("plugin-pins.txt");
    println!("cargo:rerun-if-changed={}", pins.display());
    println!("cargo:rerun-if-changed=build.rs");
    // Embedded whole by `seed.rs`.
    println!("cargo:rerun-if-changed=../../../seed-catalog");
    let text = fs::read_to_string(&pins).unwrap_or_default();
    let mut code = String::from("&[");
    for line in text.lines() {
        if let Some((sha256, name)) = line.split_once("  ") {
            code.push_str(&format!("({sha256:?}, {name:?}), "));
        }
    }
    code.push(']');
    // A failed write shows as a missing include in the next step, with the path.
    let _ = fs::write(out.join("pins.rs"), code);
}

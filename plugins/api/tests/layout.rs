//! Holds `src/abi.rs` to `include/bw_plugin.h`: a C program prints sizes and offsets, which must be Rust's and the pinned ones.

use std::fmt::Write as _;
use std::mem::offset_of;
use std::path::{Path, PathBuf};

use bw_sdk::abi::{self, Batch, Host, Input, Plugin, Remark, Str};

macro_rules! members {
    ($c:literal, $rust:ty, $($c_member:ident = $member:ident),+) => {
        ($c, size_of::<$rust>(), vec![$((stringify!($c_member), offset_of!($rust, $member))),+])
    };
}

type Layout = Vec<(&'static str, usize, Vec<(&'static str, usize)>)>;

fn rust_layout() -> Layout {
    vec![
        members!("bw_str", Str, ptr = ptr, len = len),
        members!(
            "bw_input",
            Input,
            struct_size = struct_size,
            kind = kind,
            n_points = n_points,
            grid = grid,
            values = values
        ),
        members!(
            "bw_batch",
            Batch,
            struct_size = struct_size,
            n_inputs = n_inputs,
            n_rows = n_rows,
            n_criteria = n_criteria,
            inputs = inputs,
            scores = scores
        ),
        members!(
            "bw_remark",
            Remark,
            struct_size = struct_size,
            code = code,
            row = row,
            args = args,
            n_args = n_args
        ),
        members!(
            "bw_host",
            Host,
            struct_size = struct_size,
            abi_major = abi_major,
            abi_minor = abi_minor,
            ctx = ctx,
            log = log,
            remark = remark,
            should_stop = should_stop
        ),
        members!(
            "bw_plugin",
            Plugin,
            struct_size = struct_size,
            abi_major = abi_major,
            abi_minor = abi_minor,
            manifest = manifest,
            create = create,
            destroy = destroy,
            evaluate = evaluate,
            extension = extension
        ),
    ]
}

/// Names of the constants with their values in Rust.
fn rust_constants() -> Vec<(&'static str, i64)> {
    vec![
        ("BW_ABI_MAJOR", abi::ABI_MAJOR.into()),
        ("BW_ABI_MINOR", abi::ABI_MINOR.into()),
        ("BW_OK", abi::OK.into()),
        ("BW_E_INPUT", abi::E_INPUT.into()),
        ("BW_E_STOPPED", abi::E_STOPPED.into()),
        ("BW_E_PANIC", abi::E_PANIC.into()),
        ("BW_E_OTHER", abi::E_OTHER.into()),
        ("BW_KIND_NUMBER", abi::KIND_NUMBER.into()),
        ("BW_KIND_CHOICE", abi::KIND_CHOICE.into()),
        ("BW_KIND_COUNT", abi::KIND_COUNT.into()),
        ("BW_KIND_BOOL", abi::KIND_BOOL.into()),
        ("BW_KIND_CURVE", abi::KIND_CURVE.into()),
        ("BW_LOG_DEBUG", abi::LOG_DEBUG.into()),
        ("BW_LOG_INFO", abi::LOG_INFO.into()),
        ("BW_LOG_WARN", abi::LOG_WARN.into()),
        ("BW_LOG_ERROR", abi::LOG_ERROR.into()),
        ("BW_NOT_SCORED != BW_NOT_SCORED", abi::NOT_SCORED.is_nan().into()),
        ("BW_NOT_APPLICABLE < -DBL_MAX", (abi::NOT_APPLICABLE < f64::MIN).into()),
    ]
}

fn include_dir() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("include")
}

fn run(compiler: &str, arguments: &[&str], dir: &Path) -> String {
    #[expect(clippy::disallowed_methods, reason = "a test compiles C")]
    let output = std::process::Command::new(compiler)
        .arg(format!("-I{}", include_dir().display()))
        .args(arguments)
        .current_dir(dir)
        .output()
        .unwrap_or_else(|error| panic!("{compiler} does not start: {error}"));
    assert!(
        output.status.success(),
        "{compiler} {arguments:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("the program prints ASCII")
}

#[test]
fn header_and_mirror_have_one_layout() {
    let dir = tempfile::tempdir().unwrap();
    let mut source = String::from(
        "#include <bw_plugin.h>\n#include <float.h>\n#include <stdio.h>\nint main(void) {\n",
    );
    let mut expected = String::new();
    for (name, size, members) in rust_layout() {
        writeln!(source, "printf(\"{name} %zu\\n\", sizeof({name}));").unwrap();
        writeln!(expected, "{name} {size}").unwrap();
        for (member, offset) in members {
            writeln!(source, "printf(\"{name}.{member} %zu\\n\", offsetof({name}, {member}));")
                .unwrap();
            writeln!(expected, "{name}.{member} {offset}").unwrap();
        }
    }
    for (name, value) in rust_constants() {
        writeln!(source, "printf(\"{name} %lld\\n\", (long long)({name}));").unwrap();
        writeln!(expected, "{name} {value}").unwrap();
    }
    source.push_str("return 0;\n}\n");
    std::fs::write(dir.path().join("layout.c"), source).unwrap();
    run(
        "cc",
        &["-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Werror", "-o", "layout", "layout.c"],
        dir.path(),
    );
    let program = dir.path().join("layout");
    assert_eq!(run(program.to_str().unwrap(), &[], dir.path()), expected);
}

/// Sizes are part of the contract: a change needs a new minor version, and members only at the end.
#[test]
fn sizes_are_pinned() {
    let sizes: Vec<(&str, usize)> =
        rust_layout().into_iter().map(|(name, size, _)| (name, size)).collect();
    let pinned = [
        ("bw_str", 16),
        ("bw_input", 32),
        ("bw_batch", 40),
        ("bw_remark", 32),
        ("bw_host", 40),
        ("bw_plugin", 56),
    ];
    assert_eq!(sizes, pinned);
}

#[test]
fn header_is_clean_c99_and_cpp11() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(
        dir.path().join("it.c"),
        "#include <bw_plugin.h>\nint main(void) { return 0; }\n",
    )
    .unwrap();
    std::fs::write(dir.path().join("it.cc"), "#include <bw_plugin.h>\nint main() { return 0; }\n")
        .unwrap();
    let strict = ["-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Werror", "-fsyntax-only"];
    run("cc", &[&strict[..], &["-std=c99", "it.c"]].concat(), dir.path());
    run("c++", &[&strict[..], &["-std=c++11", "it.cc"]].concat(), dir.path());
}

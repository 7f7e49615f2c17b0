//! Opens a library and finds its plugin. Constructors of the library run here.

use std::mem;
use std::path::Path;
use std::{slice, str};

use bw_sdk::abi::{self, Entry};
use bw_sdk::manifest::MAX_BYTES;
use libloading::Library;
use wire::Part;

use crate::image::Image;

/// Names of the entry of other major versions, asked for only to be able to say so.
const OTHER_ENTRIES: [(&[u8], u32); 4] = [
    (b"bw_plugin_v2\0", 2),
    (b"bw_plugin_v3\0", 3),
    (b"bw_plugin_v4\0", 4),
    (b"bw_plugin_v5\0", 5),
];

/// Why a library was not taken.
#[derive(Debug, thiserror::Error)]
pub(crate) enum LibraryError {
    #[error("cannot be loaded: {what}")]
    Load { what: String },
    #[error("is not a plugin: it does not export bw_plugin_v1")]
    NoEntry,
    #[error("is made for plugin interface {found}; this program speaks {}", abi::ABI_MAJOR)]
    OtherVersion { found: u32 },
    #[error("holds no plugin: bw_plugin_v1(0) is null")]
    Empty,
    #[error("has a table of {found} bytes; interface 1.0 has {}", size_of::<abi::Plugin>())]
    ShortTable { found: u32 },
    #[error("has no evaluate function")]
    NoEvaluate,
    #[error("has a create function without a destroy function, or the other way round")]
    HalfInstance,
    #[error("has no manifest")]
    NoManifest,
    #[error("has a manifest of {found} bytes; the limit is {MAX_BYTES}")]
    LongManifest { found: usize },
    #[error("has a manifest that is not UTF-8")]
    ManifestText,
}

impl LibraryError {
    /// Which part of the library is at fault.
    pub(crate) fn part(&self) -> Part {
        match self {
            LibraryError::Load { .. } | LibraryError::NoEntry => Part::Library,
            LibraryError::OtherVersion { .. }
            | LibraryError::Empty
            | LibraryError::ShortTable { .. }
            | LibraryError::NoEvaluate
            | LibraryError::HalfInstance => Part::Table,
            LibraryError::NoManifest
            | LibraryError::LongManifest { .. }
            | LibraryError::ManifestText => Part::Manifest,
        }
    }
}

/// A plugin of a library that stays loaded.
#[derive(Debug)]
pub(crate) struct Plugin {
    /// The entry of the library, which tells of further plugins.
    pub(crate) entry: Entry,
    pub(crate) table: &'static abi::Plugin,
    /// The `evaluate` of the table, which is known to be there.
    pub(crate) evaluate: abi::Evaluate,
}

/// Opens a library and takes its first plugin.
pub(crate) fn open(image: &Image) -> Result<Plugin, LibraryError> {
    let path = image.path();
    // SAFETY: constructors are foreign code, for which this process exists and is confined by now.
    let library = unsafe { load_now(&path) }.map_err(|error| {
        // The name in /proc means nothing to anybody.
        let what = source_text(&error).replace(&format!("{}: ", path.display()), "");
        LibraryError::Load { what }
    })?;
    // SAFETY: the header gives the entry this type, and the name of the entry is the version of the header.
    let entry = unsafe { library.get::<Entry>(abi::ENTRY) }.map(|symbol| *symbol);
    let entry = entry.map_err(|_| other_version(&library))?;
    // Unloading runs foreign destructors, so the library stays until the process ends.
    mem::forget(library);
    // SAFETY: the entry may be called at any time.
    let table = unsafe { entry(0) };
    if table.is_null() {
        return Err(LibraryError::Empty);
    }
    // SAFETY: not null; a table is static and starts with its size, which is read alone at first.
    let found = unsafe { table.cast::<u32>().read_unaligned() };
    if found < abi::size_of_u32::<abi::Plugin>() || !table.is_aligned() {
        return Err(LibraryError::ShortTable { found });
    }
    // SAFETY: not null, aligned, static, and as long as the type.
    let table = unsafe { &*table };
    if table.abi_major != abi::ABI_MAJOR {
        return Err(LibraryError::OtherVersion { found: table.abi_major.into() });
    }
    if table.create.is_some() != table.destroy.is_some() {
        return Err(LibraryError::HalfInstance);
    }
    let evaluate = table.evaluate.ok_or(LibraryError::NoEvaluate)?;
    Ok(Plugin { entry, table, evaluate })
}

impl Plugin {
    /// A copy of the manifest's text.
    pub(crate) fn manifest(&self) -> Result<String, LibraryError> {
        let abi::Str { ptr, len } = self.table.manifest;
        if ptr.is_null() || len == 0 {
            return Err(LibraryError::NoManifest);
        }
        if MAX_BYTES < len {
            return Err(LibraryError::LongManifest { found: len });
        }
        // SAFETY: not null, and the header makes the text static and of this length.
        let bytes = unsafe { slice::from_raw_parts(ptr, len) };
        str::from_utf8(bytes).map(str::to_owned).map_err(|_| LibraryError::ManifestText)
    }

    /// The functions that make and end an instance; `None` for a plugin without state.
    pub(crate) fn lifecycle(
        &self,
    ) -> Option<(abi::Create, unsafe extern "C" fn(*mut std::ffi::c_void))> {
        self.table.create.zip(self.table.destroy)
    }
}

/// Loads a library with all its symbols. Found only when it is called, a missing one would end the process in the middle
/// of a job instead of being refused by name.
///
/// # Safety
/// As [`Library::new`].
unsafe fn load_now(path: &Path) -> Result<Library, libloading::Error> {
    #[cfg(unix)]
    {
        use libloading::os::unix::{Library as Now, RTLD_LOCAL, RTLD_NOW};
        // SAFETY: the caller vouches for the library.
        unsafe { Now::open(Some(path), RTLD_NOW | RTLD_LOCAL) }.map(Library::from)
    }
    #[cfg(not(unix))]
    // SAFETY: the caller vouches for the library. This system always binds at once.
    unsafe {
        Library::new(path)
    }
}

fn other_version(library: &Library) -> LibraryError {
    for (name, found) in OTHER_ENTRIES {
        // SAFETY: the symbol is looked for, not used.
        if unsafe { library.get::<*const u8>(name) }.is_ok() {
            return LibraryError::OtherVersion { found };
        }
    }
    LibraryError::NoEntry
}

/// The innermost reason, where the loader's own words are.
fn source_text(error: &dyn std::error::Error) -> String {
    error.source().map_or_else(|| error.to_string(), source_text)
}

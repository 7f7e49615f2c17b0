//! Shows what a conformance check asks for beside scores.

use std::mem;

use bw_sdk::abi;
use wire::{Probe, Probed};

use crate::call::{self, Instance};
use crate::library::Plugin;

/// Most plugins that are counted.
const MAX_PLUGINS: u32 = 64;
/// How many indices past the last plugin are tried, beside the highest of all.
const PAST: u32 = 4;

/// Answers a probe. `aside` is where a second instance lies.
pub(crate) fn answer(
    plugin: &Plugin,
    instance: &mut Option<Instance>,
    aside: &mut Option<Instance>,
    probe: &Probe,
) -> Probed {
    match probe {
        Probe::Entry => entry(plugin),
        Probe::Extension { id } => extension(plugin, id),
        Probe::Create { params } => Probed::Create { done: call::try_params(plugin, params) },
        Probe::Swap => {
            mem::swap(instance, aside);
            Probed::Ready
        }
        Probe::End => {
            call::end(plugin, instance);
            Probed::Ready
        }
        Probe::Flush => {
            flush();
            Probed::Ready
        }
    }
}

fn entry(plugin: &Plugin) -> Probed {
    // SAFETY: the entry may be called at any time with any index.
    let is_null = |index: u32| unsafe { (plugin.entry)(index) }.is_null();
    let n_plugins = (0..MAX_PLUGINS).find(|&it| is_null(it)).unwrap_or(MAX_PLUGINS);
    let ends = (n_plugins..n_plugins + PAST).all(is_null) && is_null(u32::MAX);
    Probed::Entry {
        n_plugins,
        ends,
        table_bytes: plugin.table.struct_size,
        abi_minor: plugin.table.abi_minor,
        has_create: plugin.lifecycle().is_some(),
    }
}

fn extension(plugin: &Plugin, id: &str) -> Probed {
    let id = abi::Str { ptr: id.as_ptr(), len: id.len() };
    // SAFETY: the text is live during the call, and what is found is not used.
    let found = plugin.table.extension.map(|find| !unsafe { find(id) }.is_null());
    Probed::Extension { found }
}

#[cfg(unix)]
fn flush() {
    // SAFETY: null means all streams. A stream that cannot be written to keeps what it holds.
    let _ = unsafe { libc::fflush(std::ptr::null_mut()) };
}

/// The C library of a plugin is its own here, out of reach.
#[cfg(not(unix))]
fn flush() {}

//! The C functions that stand before a [`Scorer`]. No panic leaves them.

use std::any::Any;
use std::ffi::c_void;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::ptr;

use super::sink::log;
use super::{Level, Scorer, Sink, batch};
use crate::abi;

/// The table of a plugin, for [`export_plugins!`](crate::export_plugins).
#[must_use]
pub const fn table<S: Scorer>() -> abi::Plugin {
    abi::Plugin {
        struct_size: abi::size_of_u32::<abi::Plugin>(),
        abi_major: abi::ABI_MAJOR,
        abi_minor: abi::ABI_MINOR,
        manifest: abi::Str { ptr: S::MANIFEST.as_ptr(), len: S::MANIFEST.len() },
        create: Some(create::<S>),
        destroy: Some(destroy::<S>),
        evaluate: Some(evaluate::<S>),
        extension: None,
    }
}

/// The table at an index, null past the last, for [`export_plugins!`](crate::export_plugins).
#[must_use]
pub fn nth(tables: &'static [abi::Plugin], index: u32) -> *const abi::Plugin {
    tables.get(index as usize).map_or(ptr::null(), ptr::from_ref)
}

unsafe extern "C" fn create<S: Scorer>(
    host: *const abi::Host,
    params: *const f64,
    n: usize,
    this: *mut *mut c_void,
) -> i32 {
    if host.is_null() || this.is_null() {
        return abi::E_INPUT;
    }
    // SAFETY: not null, and the host owns it for the call.
    let host = unsafe { &*host };
    guarded(host, || {
        // SAFETY: the host vouches for `params` and `n`.
        let params = unsafe { batch::view(params, n) }.map_err(|text| (abi::E_INPUT, text))?;
        let scorer = S::new(params).map_err(|text| (abi::E_INPUT, text))?;
        // SAFETY: not null, and the host gave it to be written to.
        unsafe { *this = Box::into_raw(Box::new(scorer)).cast() };
        Ok(())
    })
}

unsafe extern "C" fn destroy<S: Scorer>(this: *mut c_void) {
    if this.is_null() {
        return;
    }
    // SAFETY: `create` made it with `Box::into_raw`, and the host gives it back once.
    let scorer = unsafe { Box::from_raw(this.cast::<S>()) };
    // A panic while dropping has nobody to be reported to; the worker ends soon after.
    let _ = catch_unwind(AssertUnwindSafe(|| drop(scorer)));
}

unsafe extern "C" fn evaluate<S: Scorer>(
    this: *mut c_void,
    host: *const abi::Host,
    raw: *const abi::Batch,
) -> i32 {
    if this.is_null() || host.is_null() || raw.is_null() {
        return abi::E_INPUT;
    }
    // SAFETY: not null, and the host owns it for the call.
    let host = unsafe { &*host };
    guarded(host, || {
        // SAFETY: `create` made it, and the host makes one call at a time.
        let scorer = unsafe { &mut *this.cast::<S>() };
        // SAFETY: the host vouches for the batch during the call.
        let (batch, scores) =
            unsafe { batch::from_raw(raw) }.map_err(|text| (abi::E_INPUT, text))?;
        let (n_rows, n_criteria) = (batch.n_rows, batch.n_criteria);
        let mut sink = Sink { host, scores, n_rows, n_criteria };
        let outcome = scorer.evaluate(&batch, &mut sink);
        if sink.should_stop() {
            return Err((abi::E_STOPPED, "stopped as asked".to_owned()));
        }
        outcome.map_err(|text| (abi::E_OTHER, text))
    })
}

/// Runs a call; a failure or panic becomes a status, its text goes to the log.
fn guarded(host: &abi::Host, call: impl FnOnce() -> Result<(), (i32, String)>) -> i32 {
    // What a panic may have left half done is thrown away: the host destroys the instance.
    let (status, text) = match catch_unwind(AssertUnwindSafe(call)) {
        Ok(Ok(())) => return abi::OK,
        Ok(Err(failure)) => failure,
        Err(payload) => (abi::E_PANIC, panic_text(payload.as_ref())),
    };
    log(host, Level::Error, &text);
    status
}

fn panic_text(payload: &(dyn Any + Send)) -> String {
    let text = payload.downcast_ref::<&str>().copied();
    let text = text.or_else(|| payload.downcast_ref::<String>().map(String::as_str));
    format!("panic: {}", text.unwrap_or("no text"))
}

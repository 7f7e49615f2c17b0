//! How the process ends: at once, without running destructors of foreign code.

/// The host closed its end.
pub(crate) const DONE: i32 = 0;
/// Started by hand.
pub(crate) const BY_HAND: i32 = 64;
/// The host said something that makes no sense, or could not be told something.
pub(crate) const PROTOCOL: i32 = 70;

/// Gives bad memory access its plain meaning back. Rust's own handler, meant to tell a stack overflow, returns once when
/// the signal was raised by hand, and the plugin would go on.
#[cfg(unix)]
pub(crate) fn on_bad_memory() {
    for signal in [libc::SIGSEGV, libc::SIGBUS] {
        // SAFETY: the default action needs no handler. It cannot fail for these signals.
        unsafe { libc::signal(signal, libc::SIG_DFL) };
    }
}

/// Nothing to do where bad memory access is no signal.
#[cfg(not(unix))]
pub(crate) fn on_bad_memory() {}

/// Ends the process.
#[cfg(unix)]
pub(crate) fn now(code: i32) -> ! {
    // SAFETY: `_exit` takes any code and does not return.
    unsafe { libc::_exit(code) }
}

/// Ends the process.
#[cfg(not(unix))]
pub(crate) fn now(code: i32) -> ! {
    std::process::exit(code)
}

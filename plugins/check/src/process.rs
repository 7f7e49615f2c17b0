//! What a worker process holds, seen from outside, where the plugin cannot lie about it.

/// What a process holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Held {
    pub(crate) threads: u64,
    /// The address space in use, in bytes; it is what a worker has a limit of.
    pub(crate) memory_bytes: u64,
}

/// What a process holds; `None` when it is gone or the system does not say.
#[cfg(target_os = "linux")]
pub(crate) fn held(pid: u32) -> Option<Held> {
    parse(&std::fs::read_to_string(format!("/proc/{pid}/stat")).ok()?)
}

/// This system does not say.
#[cfg(not(target_os = "linux"))]
pub(crate) fn held(_pid: u32) -> Option<Held> {
    None
}

/// Fields 20 (num_threads) and 23 (vsize) of proc_pid_stat(5). The name before them may hold spaces and brackets.
#[cfg(target_os = "linux")]
fn parse(stat: &str) -> Option<Held> {
    let (_, after) = stat.rsplit_once(')')?;
    let fields: Vec<&str> = after.split_whitespace().collect();
    // Field 3 is the first after the name.
    let number = |field: usize| fields.get(field - 3)?.parse().ok();
    Some(Held { threads: number(20)?, memory_bytes: number(23)? })
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::{Held, held, parse};

    #[test]
    fn fields_are_counted_after_the_name() {
        let stat = "7 (a (b) c) S 1 7 7 0 -1 4194560 1 0 0 0 0 0 0 0 20 0 3 0 99 8192 2 18446744073709551615";
        assert_eq!(parse(stat), Some(Held { threads: 3, memory_bytes: 8192 }));
        assert_eq!(parse("7 (x) S"), None);
    }

    #[test]
    fn own_process_has_threads_and_memory() {
        let own = held(std::process::id()).unwrap();
        assert!(1 <= own.threads && 1 << 20 < own.memory_bytes);
        assert_eq!(held(u32::MAX), None);
    }
}

//! Linux: resource limits, Landlock for files and network, seccomp for system calls.

#[path = "linux/calls.rs"]
mod calls;

use std::io;
use std::num::NonZero;
use std::sync::OnceLock;
use std::thread::available_parallelism;

use landlock::{
    ABI, Access, AccessFs, AccessNet, Ruleset, RulesetAttr, RulesetCreatedAttr, RulesetError,
    RulesetStatus, Scope, path_beneath_rules,
};
use rlimit::{INFINITY, Resource};
use wire::{Limits, Sandbox};

use super::Confinement;

/// What a library may be linked with. Paths that do not exist are passed over.
const READABLE: [&str; 6] =
    ["/usr/lib", "/usr/lib64", "/usr/local/lib", "/lib", "/lib64", "/etc/ld.so.cache"];
/// ABI 6 added abstract sockets and signals to what can be kept in; older kernels enforce what they know.
const LANDLOCK: ABI = ABI::V6;
/// Seconds of processor time on top of what a call may take.
const SLACK_S: u64 = 10;

/// This system.
#[derive(Debug)]
pub(crate) struct Here;

impl Confinement for Here {
    fn confine(limits: &Limits) -> io::Result<Sandbox> {
        // Landlock and seccomp bind the calling thread and its later children only.
        let n_threads = std::fs::read_dir("/proc/self/task")?.count();
        if n_threads != 1 {
            return Err(io::Error::other(format!("{n_threads} threads run already")));
        }
        // /sys, where the number is read, is closed later.
        processors();
        limit(limits)?;
        // SAFETY: plain system call on the own process; the result is checked.
        if unsafe { libc::prctl(libc::PR_SET_DUMPABLE, 0, 0, 0, 0) } < 0 {
            return Err(io::Error::last_os_error());
        }
        let mut missing = Vec::new();
        match restrict_files().map_err(io::Error::other)? {
            RulesetStatus::FullyEnforced => {}
            RulesetStatus::PartiallyEnforced => {
                missing.push("some file, network or signal rules (old kernel)")
            }
            RulesetStatus::NotEnforced => missing.push("all file rules (no Landlock)"),
        }
        if !calls::restrict()? {
            missing.push("system call rules (processor not supported)");
        }
        Ok(match missing.is_empty() {
            true => Sandbox::Full,
            false => Sandbox::Partial { missing: missing.join(", ") },
        })
    }

    fn allow_time(deadline_ms: u64) -> io::Result<()> {
        let mut now = libc::timespec { tv_sec: 0, tv_nsec: 0 };
        // SAFETY: `now` is live; the result is checked.
        if unsafe { libc::clock_gettime(libc::CLOCK_PROCESS_CPUTIME_ID, &mut now) } < 0 {
            return Err(io::Error::last_os_error());
        }
        let used_s = u64::try_from(now.tv_sec).unwrap_or(0);
        let call_s = deadline_ms.div_ceil(1000).saturating_mul(processors());
        // The hard limit stays open, since the soft one moves with each call.
        Resource::CPU.set(used_s.saturating_add(call_s).saturating_add(SLACK_S), INFINITY)
    }
}

fn processors() -> u64 {
    static PROCESSORS: OnceLock<u64> = OnceLock::new();
    *PROCESSORS.get_or_init(|| available_parallelism().map_or(1, NonZero::get) as u64)
}

fn limit(limits: &Limits) -> io::Result<()> {
    let set = |resource: Resource, wanted: u64| {
        // A lower limit that is there already cannot be raised and need not be.
        let wanted = wanted.min(resource.get_hard()?);
        resource.set(wanted, wanted)
    };
    set(Resource::CORE, 0)?;
    set(Resource::AS, limits.address_space_bytes)?;
    set(Resource::NOFILE, limits.open_files)?;
    set(Resource::FSIZE, limits.file_bytes)
}

fn restrict_files() -> Result<RulesetStatus, RulesetError> {
    let status = Ruleset::default()
        .handle_access(AccessFs::from_all(LANDLOCK))?
        .handle_access(AccessNet::from_all(LANDLOCK))?
        .scope(Scope::from_all(LANDLOCK))?
        .create()?
        .add_rules(path_beneath_rules(READABLE, AccessFs::from_read(LANDLOCK)))?
        .restrict_self()?;
    Ok(status.ruleset)
}

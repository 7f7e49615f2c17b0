//! System calls that a scoring plugin has no business with. They fail with `EPERM`, which reaches its log as a sentence.
//!
//! A list of what is denied rather than of what is allowed: foreign code and new C libraries use calls nobody foresaw,
//! and files and network are Landlock's already. Its action is the same in tests and in releases.

use std::io;

/// Closes the calls; `false` where the processor has no filter.
#[cfg(any(target_arch = "x86_64", target_arch = "aarch64", target_arch = "riscv64"))]
pub(crate) fn restrict() -> io::Result<bool> {
    use seccompiler::{SeccompAction, apply_filter};

    let denied = filter(denied()?, SeccompAction::Errno(libc::EPERM.unsigned_abs()))?;
    // The arguments of clone3 are in memory, where a filter cannot look. Told that there is no such call, the C library
    // falls back on clone, whose flags it can see.
    let absent = vec![(libc::SYS_clone3, Vec::new())];
    let absent = filter(absent, SeccompAction::Errno(libc::ENOSYS.unsigned_abs()))?;
    apply_filter(&absent).map_err(io::Error::other)?;
    apply_filter(&denied).map_err(io::Error::other)?;
    Ok(true)
}

/// Closes the calls; `false` where the processor has no filter.
#[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64", target_arch = "riscv64")))]
pub(crate) fn restrict() -> io::Result<bool> {
    Ok(false)
}

#[cfg(any(target_arch = "x86_64", target_arch = "aarch64", target_arch = "riscv64"))]
fn filter(
    rules: Vec<(i64, Vec<seccompiler::SeccompRule>)>,
    action: seccompiler::SeccompAction,
) -> io::Result<seccompiler::BpfProgram> {
    use seccompiler::{SeccompAction, SeccompFilter};

    let arch = std::env::consts::ARCH.try_into().map_err(io::Error::other)?;
    SeccompFilter::new(rules.into_iter().collect(), SeccompAction::Allow, action, arch)
        .and_then(TryInto::try_into)
        .map_err(io::Error::other)
}

#[cfg(any(target_arch = "x86_64", target_arch = "aarch64", target_arch = "riscv64"))]
fn denied() -> io::Result<Vec<(i64, Vec<seccompiler::SeccompRule>)>> {
    use seccompiler::{SeccompCmpArgLen, SeccompCmpOp, SeccompCondition, SeccompRule};

    let when = |argument: u8, operator: SeccompCmpOp, value: u64| {
        SeccompCondition::new(argument, SeccompCmpArgLen::Dword, operator, value)
            .and_then(|condition| SeccompRule::new(vec![condition]))
            .map(|rule| vec![rule])
            .map_err(io::Error::other)
    };
    let own_pid = u64::from(std::process::id());
    let thread = u64::from(libc::CLONE_THREAD.unsigned_abs());
    let mut rules: Vec<_> = ALWAYS.iter().map(|&call| (call, Vec::new())).collect();
    // New processes; new threads stay allowed.
    rules.push((libc::SYS_clone, when(0, SeccompCmpOp::MaskedEq(thread), 0)?));
    #[cfg(target_arch = "x86_64")]
    rules.extend([(libc::SYS_fork, Vec::new()), (libc::SYS_vfork, Vec::new())]);
    // Signals and limits of other processes; abort() signals itself.
    rules.push((libc::SYS_kill, when(0, SeccompCmpOp::Ne, own_pid)?));
    rules.push((libc::SYS_tgkill, when(0, SeccompCmpOp::Ne, own_pid)?));
    rules.push((libc::SYS_prlimit64, when(0, SeccompCmpOp::Ne, 0)?));
    #[cfg(target_arch = "x86_64")]
    rules.extend([
        (libc::SYS_chmod, Vec::new()),
        (libc::SYS_chown, Vec::new()),
        (libc::SYS_lchown, Vec::new()),
    ]);
    Ok(rules)
}

/// Denied whatever the arguments.
#[cfg(any(target_arch = "x86_64", target_arch = "aarch64", target_arch = "riscv64"))]
const ALWAYS: &[i64] = &[
    // Other programs.
    libc::SYS_execve,
    libc::SYS_execveat,
    // Network, and sockets of this machine.
    libc::SYS_socket,
    libc::SYS_socketpair,
    libc::SYS_connect,
    libc::SYS_bind,
    libc::SYS_listen,
    // A second way to most other calls.
    libc::SYS_io_uring_setup,
    libc::SYS_io_uring_enter,
    libc::SYS_io_uring_register,
    // Other processes.
    libc::SYS_ptrace,
    libc::SYS_process_vm_readv,
    libc::SYS_process_vm_writev,
    libc::SYS_pidfd_open,
    libc::SYS_pidfd_getfd,
    libc::SYS_pidfd_send_signal,
    libc::SYS_rt_sigqueueinfo,
    libc::SYS_rt_tgsigqueueinfo,
    libc::SYS_setpgid,
    libc::SYS_setsid,
    // Owners, modes and attributes of files, which Landlock leaves open.
    libc::SYS_fchmod,
    libc::SYS_fchmodat,
    libc::SYS_fchown,
    libc::SYS_fchownat,
    libc::SYS_setxattr,
    libc::SYS_lsetxattr,
    libc::SYS_fsetxattr,
    libc::SYS_removexattr,
    libc::SYS_lremovexattr,
    libc::SYS_fremovexattr,
    libc::SYS_utimensat,
    // The kernel and the machine.
    libc::SYS_bpf,
    libc::SYS_perf_event_open,
    libc::SYS_userfaultfd,
    libc::SYS_keyctl,
    libc::SYS_add_key,
    libc::SYS_request_key,
    libc::SYS_unshare,
    libc::SYS_setns,
    libc::SYS_mount,
    libc::SYS_umount2,
    libc::SYS_pivot_root,
    libc::SYS_chroot,
    libc::SYS_swapon,
    libc::SYS_swapoff,
    libc::SYS_reboot,
    libc::SYS_init_module,
    libc::SYS_finit_module,
    libc::SYS_delete_module,
    libc::SYS_settimeofday,
    libc::SYS_clock_settime,
    libc::SYS_sethostname,
];

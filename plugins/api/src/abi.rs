//! The C interface of `include/bw_plugin.h`, member for member. The header is the contract; a test holds this mirror to it.

use core::ffi::c_void;

/// Major version. It is part of [`ENTRY`], so a library made for another one is recognized before it is called.
pub const ABI_MAJOR: u16 = 1;
/// Minor version. A higher one only appends members to structs.
pub const ABI_MINOR: u16 = 0;
/// Name of the one exported function, with its closing NUL for the loader.
pub const ENTRY: &[u8] = b"bw_plugin_v1\0";

/// The call did what it should.
pub const OK: i32 = 0;
/// Parameters or inputs are not what the manifest declares.
pub const E_INPUT: i32 = -1;
/// The plugin stopped because the host asked it to.
pub const E_STOPPED: i32 = -2;
/// A panic or exception was caught before it crossed the interface.
pub const E_PANIC: i32 = -3;
/// Any other failure.
pub const E_OTHER: i32 = -4;

/// A number in the declared unit.
pub const KIND_NUMBER: u32 = 1;
/// An index into the declared choices.
pub const KIND_CHOICE: u32 = 2;
/// A whole number.
pub const KIND_COUNT: u32 = 3;
/// 0 or 1.
pub const KIND_BOOL: u32 = 4;
/// Values over a grid that all rows share.
pub const KIND_CURVE: u32 = 5;

/// Log level for the plugin's author.
pub const LOG_DEBUG: i32 = 0;
/// Log level for the user who looks closely.
pub const LOG_INFO: i32 = 1;
/// Log level for something odd that did not stop the call.
pub const LOG_WARN: i32 = 2;
/// Log level for the reason of a failure.
pub const LOG_ERROR: i32 = 3;

/// Score of a criterion whose input is missing. Test with `is_nan`.
pub const NOT_SCORED: f64 = f64::NAN;
/// Score of a criterion that has no meaning for the product; the host spreads its weight over the others.
pub const NOT_APPLICABLE: f64 = f64::NEG_INFINITY;

/// UTF-8 text, not ended by a NUL.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct Str {
    /// First byte.
    pub ptr: *const u8,
    /// Length in bytes.
    pub len: usize,
}

/// One input for all rows.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct Input {
    /// Size of this struct as the writer knew it.
    pub struct_size: u32,
    /// One of the `KIND_` constants.
    pub kind: u32,
    /// Length of `grid`; 0 for a scalar.
    pub n_points: usize,
    /// Abscissae of a curve; null for a scalar.
    pub grid: *const f64,
    /// `n_rows` scalars, or `n_rows * n_points` values row by row.
    pub values: *const f64,
}

/// What one call evaluates.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct Batch {
    /// Size of this struct as the writer knew it.
    pub struct_size: u32,
    /// Length of `inputs`.
    pub n_inputs: u32,
    /// Number of rows.
    pub n_rows: usize,
    /// Number of criteria.
    pub n_criteria: usize,
    /// Pointers, so that [`Input`] may grow.
    pub inputs: *const *const Input,
    /// `n_rows * n_criteria` scores row by row, filled with NaN by the host.
    pub scores: *mut f64,
}

/// What a plugin says about one row.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct Remark {
    /// Size of this struct as the writer knew it.
    pub struct_size: u32,
    /// Index into the remarks of the manifest.
    pub code: u32,
    /// The row it is about.
    pub row: usize,
    /// Numbers for the placeholders of its text.
    pub args: *const f64,
    /// Length of `args`.
    pub n_args: usize,
}

/// What the host offers during a call.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct Host {
    /// Size of this struct as the writer knew it.
    pub struct_size: u32,
    /// Major version of the host.
    pub abi_major: u16,
    /// Minor version of the host.
    pub abi_minor: u16,
    /// First argument of each function below.
    pub ctx: *mut c_void,
    /// Takes a text. `[call]`
    pub log: Option<unsafe extern "C" fn(ctx: *mut c_void, level: i32, text: Str)>,
    /// Takes a remark. `[call]`
    pub remark: Option<unsafe extern "C" fn(ctx: *mut c_void, remark: *const Remark)>,
    /// Not 0 when the plugin should return [`E_STOPPED`]. `[any]`
    pub should_stop: Option<unsafe extern "C" fn(ctx: *mut c_void) -> u32>,
}

/// What a plugin offers.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct Plugin {
    /// Size of this struct as the writer knew it.
    pub struct_size: u32,
    /// Major version the plugin was made for.
    pub abi_major: u16,
    /// Minor version the plugin was made for.
    pub abi_minor: u16,
    /// Static JSON text.
    pub manifest: Str,
    /// Makes an instance; may be absent.
    pub create: Option<Create>,
    /// Ends an instance; may be absent.
    pub destroy: Option<unsafe extern "C" fn(this: *mut c_void)>,
    /// Scores a batch.
    pub evaluate: Option<Evaluate>,
    /// Finds an extension; may be absent.
    pub extension: Option<unsafe extern "C" fn(id: Str) -> *const c_void>,
}

/// Type of [`Plugin::create`].
pub type Create = unsafe extern "C" fn(
    host: *const Host,
    params: *const f64,
    n: usize,
    this: *mut *mut c_void,
) -> i32;

/// Type of [`Plugin::evaluate`].
pub type Evaluate =
    unsafe extern "C" fn(this: *mut c_void, host: *const Host, batch: *const Batch) -> i32;

/// Type of the function named by [`ENTRY`].
pub type Entry = unsafe extern "C" fn(index: u32) -> *const Plugin;

// SAFETY: a table is immutable and static, and its manifest points to static text.
unsafe impl Sync for Plugin {}

/// The size member of a struct of type `T`.
#[must_use]
pub const fn size_of_u32<T>() -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "no struct of the interface passes 64 bytes"
    )]
    let size = size_of::<T>() as u32;
    size
}

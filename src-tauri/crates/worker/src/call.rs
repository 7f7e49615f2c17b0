//! One call into a plugin: the batch it gets, and what it says while it runs.

use std::ffi::c_void;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};
use std::{ptr, slice};

use bw_sdk::abi;
use wire::{
    Done, Evaluate, LogLine, MAX_LOG_BYTES, MAX_LOG_LINE_BYTES, MAX_REMARKS, Remark, Stage,
};

use crate::library::Plugin;

/// Most numbers of one remark that are copied.
const MAX_ARGS: usize = 512;

/// Number of what is no job. The host counts jobs from 1.
const NO_JOB: u64 = u64::MAX;

/// An instance of a plugin, with the parameters it was made from.
#[derive(Debug)]
pub(crate) struct Instance {
    this: *mut c_void,
    param_bits: Vec<u64>,
}

/// Answers a job. The instance of the last one serves again while the parameters stay.
pub(crate) fn answer(
    plugin: &Plugin,
    instance: &mut Option<Instance>,
    evaluate: &Evaluate,
    shared: Option<(*const f64, *mut f64)>,
    cancelled: &AtomicU64,
) -> Done {
    let tape = Tape::new(evaluate.job, evaluate.remarks, cancelled);
    let host = tape.host();
    let param_bits: Vec<u64> = evaluate.params.iter().map(|it| it.to_bits()).collect();
    if instance.as_ref().is_some_and(|it| it.param_bits != param_bits) {
        end(plugin, instance);
    }
    if instance.is_none() {
        match create(plugin, &host, &evaluate.params) {
            Ok(this) => *instance = Some(Instance { this, param_bits }),
            Err(status) => return tape.done(Stage::Create, status, Vec::new()),
        }
    }
    let this = instance.as_ref().map_or(ptr::null_mut(), |it| it.this);
    let (status, scores) = score(plugin, this, &host, evaluate, shared);
    if status != abi::OK && status != abi::E_INPUT {
        end(plugin, instance);
    }
    tape.done(Stage::Evaluate, status, scores)
}

fn create(plugin: &Plugin, host: &abi::Host, params: &[f64]) -> Result<*mut c_void, i32> {
    let mut this = ptr::null_mut();
    let Some((create, _)) = plugin.lifecycle() else { return Ok(this) };
    // SAFETY: all pointers are live, and `params` has the length given.
    match unsafe { create(host, params.as_ptr(), params.len(), &mut this) } {
        abi::OK => Ok(this),
        status => Err(status),
    }
}

/// Makes an instance from any parameters and ends it; `None` for a plugin that makes none.
pub(crate) fn try_params(plugin: &Plugin, params: &[f64]) -> Option<Done> {
    plugin.lifecycle()?;
    let cancelled = AtomicU64::new(0);
    let tape = Tape::new(NO_JOB, false, &cancelled);
    let status = match create(plugin, &tape.host(), params) {
        Ok(this) => {
            end(plugin, &mut Some(Instance { this, param_bits: Vec::new() }));
            abi::OK
        }
        Err(status) => status,
    };
    Some(tape.done(Stage::Create, status, Vec::new()))
}

pub(crate) fn end(plugin: &Plugin, instance: &mut Option<Instance>) {
    if let (Some((_, destroy)), Some(instance)) = (plugin.lifecycle(), instance.take()) {
        // SAFETY: `create` made it, and it is given back once.
        unsafe { destroy(instance.this) }
    }
}

fn score(
    plugin: &Plugin,
    this: *mut c_void,
    host: &abi::Host,
    evaluate: &Evaluate,
    shared: Option<(*const f64, *mut f64)>,
) -> (i32, Vec<f64>) {
    let (n_rows, n_criteria) = (evaluate.n_rows as usize, evaluate.n_criteria as usize);
    let n_scores = n_rows * n_criteria;
    let mut scores = vec![abi::NOT_SCORED; if shared.is_none() { n_scores } else { 0 }];
    let mut place = scores.as_mut_ptr();
    let mut inputs: Vec<abi::Input> = evaluate.inputs.iter().map(raw_input).collect();
    if let Some((mut next, shared)) = shared {
        place = shared;
        // SAFETY: `serve` saw that there is room, and the host reads only between calls.
        unsafe { slice::from_raw_parts_mut(place, n_scores) }.fill(abi::NOT_SCORED);
        for (raw, input) in inputs.iter_mut().zip(&evaluate.inputs) {
            raw.values = next;
            // `serve` saw that all of them find room.
            next = next.wrapping_add(length(input, n_rows).unwrap_or(0));
        }
    }
    let pointers: Vec<*const abi::Input> = inputs.iter().map(ptr::from_ref).collect();
    let batch = abi::Batch {
        struct_size: abi::size_of_u32::<abi::Batch>(),
        n_inputs: u32::try_from(pointers.len()).unwrap_or(u32::MAX),
        n_rows,
        n_criteria,
        inputs: pointers.as_ptr(),
        scores: place,
    };
    // SAFETY: all pointers are live and as long as the batch says; `serve` checked the lengths of the inputs.
    let status = unsafe { (plugin.evaluate)(this, host, &batch) };
    if status != abi::OK {
        scores.clear();
    }
    (status, scores)
}

/// How many values an input has; `None` for more than there can be, or for a scalar with a grid.
pub(crate) fn length(input: &wire::Input, n_rows: usize) -> Option<usize> {
    match input.kind {
        abi::KIND_CURVE => n_rows.checked_mul(input.grid.len()),
        _ => input.grid.is_empty().then_some(n_rows),
    }
}

fn raw_input(input: &wire::Input) -> abi::Input {
    let is_curve = input.kind == abi::KIND_CURVE;
    abi::Input {
        struct_size: abi::size_of_u32::<abi::Input>(),
        kind: input.kind,
        n_points: input.grid.len(),
        grid: if is_curve { input.grid.as_ptr() } else { ptr::null() },
        values: input.values.as_ptr(),
    }
}

/// Writes down what a plugin says. Behind a mutex, since a careless plugin may speak from a thread of its own.
struct Tape<'a> {
    job: u64,
    with_remarks: bool,
    cancelled: &'a AtomicU64,
    said: Mutex<Said>,
}

#[derive(Default)]
struct Said {
    remarks: Vec<Remark>,
    log: Vec<LogLine>,
    log_bytes: usize,
    dropped_remarks: usize,
}

impl<'a> Tape<'a> {
    fn new(job: u64, with_remarks: bool, cancelled: &'a AtomicU64) -> Self {
        Tape { job, with_remarks, cancelled, said: Mutex::default() }
    }

    fn host(&self) -> abi::Host {
        abi::Host {
            struct_size: abi::size_of_u32::<abi::Host>(),
            abi_major: abi::ABI_MAJOR,
            abi_minor: abi::ABI_MINOR,
            ctx: ptr::from_ref(self).cast_mut().cast(),
            log: Some(log),
            remark: Some(remark),
            should_stop: Some(should_stop),
        }
    }

    fn done(self, stage: Stage, status: i32, scores: Vec<f64>) -> Done {
        let mut said = self.said.into_inner().unwrap_or_else(PoisonError::into_inner);
        if 0 < said.dropped_remarks {
            let text = format!(
                "{} remarks over the limit of {MAX_REMARKS} were dropped",
                said.dropped_remarks
            );
            said.log.push(LogLine { level: abi::LOG_WARN, text });
        }
        Done { job: self.job, stage, status, scores, remarks: said.remarks, log: said.log }
    }
}

unsafe extern "C" fn log(ctx: *mut c_void, level: i32, text: abi::Str) {
    if text.ptr.is_null() {
        return;
    }
    // SAFETY: `ctx` is the tape of this call, which outlives it.
    let tape = unsafe { &*ctx.cast::<Tape<'_>>() };
    // SAFETY: not null, and the header makes the text live during the call and of this length.
    let bytes = unsafe { slice::from_raw_parts(text.ptr, text.len.min(MAX_LOG_LINE_BYTES)) };
    let mut said = tape.said.lock().unwrap_or_else(PoisonError::into_inner);
    // The last error is the reason of a failure, so it always finds room.
    if MAX_LOG_BYTES < said.log_bytes + bytes.len() && level != abi::LOG_ERROR {
        return;
    }
    if level == abi::LOG_ERROR && MAX_LOG_BYTES < said.log_bytes + bytes.len() {
        said.log.clear();
        said.log_bytes = 0;
    }
    said.log_bytes += bytes.len();
    let mut text = String::from_utf8_lossy(bytes).into_owned();
    // Replacing bytes that are not UTF-8 can make the text longer.
    text.truncate(text.floor_char_boundary(MAX_LOG_LINE_BYTES));
    said.log.push(LogLine { level, text });
}

unsafe extern "C" fn remark(ctx: *mut c_void, raw: *const abi::Remark) {
    if raw.is_null() {
        return;
    }
    // SAFETY: `ctx` is the tape of this call, which outlives it; a remark is live during the call.
    let (tape, raw) = unsafe { (&*ctx.cast::<Tape<'_>>(), &*raw) };
    if !tape.with_remarks {
        return;
    }
    let args = match raw.args.is_null() {
        true => &[],
        // SAFETY: not null, and the header makes the numbers as many as the remark says.
        false => unsafe { slice::from_raw_parts(raw.args, raw.n_args.min(MAX_ARGS)) },
    };
    let mut said = tape.said.lock().unwrap_or_else(PoisonError::into_inner);
    if said.remarks.len() == MAX_REMARKS {
        said.dropped_remarks += 1;
        return;
    }
    let row = u32::try_from(raw.row).unwrap_or(u32::MAX);
    said.remarks.push(Remark { row, code: raw.code, args: args.to_vec() });
}

unsafe extern "C" fn should_stop(ctx: *mut c_void) -> u32 {
    // SAFETY: `ctx` is the tape of this call, which outlives it.
    let tape = unsafe { &*ctx.cast::<Tape<'_>>() };
    u32::from(tape.cancelled.load(Ordering::Relaxed) == tape.job)
}

//! What isolation costs: the four plugins of this build in their workers, beside the same libraries called in this process.
//!
//! Run with `cargo xtask bench`, which builds worker and plugins first and says where they are. The limit is a plain call of
//! `evaluate` on the same numbers, a thousand rows at a time and without any check of what comes back; it is the one place
//! outside a worker that loads a plugin. Both take turns, and must give the same scores bit by bit. Lines with tabs are for
//! the table of `cargo xtask bench`.
#![expect(clippy::print_stdout, reason = "a program for the terminal")]
#![expect(clippy::expect_used, reason = "a bench that cannot start has nothing to say")]

use std::ffi::c_void;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::time::Instant;
use std::{env, mem, ptr};

use bw_sdk::abi;
use bw_sdk::manifest::{InputKind, Manifest};
use host::{Blocking, Evaluate, HostOptions, Input, Loaded, PluginFile, sha256_file};

const PLUGINS: [&str; 4] = ["cabinet", "driver", "crossover", "wiring"];
const PRODUCTS: usize = 300;
const DRAWS: usize = 1000;
const TURNS: usize = 9;
/// What the batches are held against.
const PLAIN: &str = "the same libraries in this process";
/// What isolation may cost over the limit, and a start in all.
const AIM_RATIO: f64 = 1.25;
const AIM_START_MS: f64 = 25.0;

fn main() {
    let folder = env::var_os("BOXWORTH_PLUGINS").map(PathBuf::from).expect("BOXWORTH_PLUGINS");
    let files: Vec<PluginFile> = PLUGINS.iter().map(|name| file(&folder, name)).collect();
    let options = || HostOptions { require_sandbox: true, ..HostOptions::default() };
    println!("figures\tisolation");
    println!("{:<46} {:>10} {:>10} {:>7}", "medians", "ours, ms", "limit, ms", "ratio");
    for (name, file) in PLUGINS.iter().zip(&files) {
        let start = || {
            let host = Blocking::new(options()).expect("a host");
            millis(|| host.load(file).expect("loaded"))
        };
        let taken = median((0..TURNS).map(|_| start()).collect());
        line(&format!("start of {name}"), taken, "the aim", AIM_START_MS);
    }
    let host = Blocking::new(options()).expect("a host");
    let pairs: Vec<(Loaded, InProcess)> = files
        .iter()
        .map(|file| (host.load(file).expect("loaded"), InProcess::load(&file.path)))
        .collect();
    for n_rows in [1, 1000, PRODUCTS * DRAWS] {
        let mut sums = (0.0, 0.0);
        for (at, (plugin, limit)) in pairs.iter().enumerate() {
            let batch = batch(&plugin.manifest, n_rows, at as u64 + 1);
            let (mut ours, mut theirs) = (Vec::new(), Vec::new());
            for turn in 0..=TURNS {
                let request = batch.clone();
                let mut scores = Vec::new();
                let our_time =
                    millis(|| scores = host.scores(plugin, request).expect("scored").scores);
                let mut plain = Vec::new();
                let their_time = millis(|| plain = limit.scores(&batch));
                assert!(
                    same(&scores, &plain),
                    "{} scores otherwise in its worker",
                    plugin.manifest.id
                );
                if turn > 0 {
                    ours.push(our_time);
                    theirs.push(their_time);
                }
            }
            let (ours, theirs) = (median(ours), median(theirs));
            line(&format!("{n_rows} rows, {}", plugin.manifest.subsystem), ours, PLAIN, theirs);
            sums = (sums.0 + ours, sums.1 + theirs);
        }
        line(&format!("{n_rows} rows, all four"), sums.0, PLAIN, sums.1);
    }
    println!("The aim for {PRODUCTS} products of {DRAWS} draws is a ratio below {AIM_RATIO}.");
}

fn line(what: &str, ours: f64, of: &str, limit: f64) {
    println!("{what:<46} {ours:>10.3} {limit:>10.3} {:>7.2}", ours / limit);
    println!("figure\t{what}\t{ours} ms");
    println!("limit\t{of}\t{limit} ms");
}

fn file(folder: &Path, name: &str) -> PluginFile {
    let path = folder.join(format!("{}{name}{}", env::consts::DLL_PREFIX, env::consts::DLL_SUFFIX));
    let sha256 = sha256_file(&path).expect("a plugin");
    PluginFile { path, sha256 }
}

fn millis<T>(work: impl FnOnce() -> T) -> f64 {
    let start = Instant::now();
    black_box(work());
    start.elapsed().as_secs_f64() * 1e3
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_unstable_by(f64::total_cmp);
    times[times.len() / 2]
}

/// Equal bits, or NaN in both.
fn same(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.to_bits() == b.to_bits())
}

/// Made-up rows: numbers within two decades, choices among those of the manifest, nothing missing.
fn batch(manifest: &Manifest, n_rows: usize, seed: u64) -> Evaluate {
    let mut state = seed;
    // The generator of Steele, Lea and Flood (2014), from memory; any other would do.
    let mut unit = move || {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = (state ^ (state >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    };
    let inputs = manifest.inputs.iter().map(|input| {
        let mut value = || match input.kind {
            InputKind::Choice => (unit() * input.choices.len() as f64).floor(),
            InputKind::Bool => unit().round(),
            InputKind::Count => (1.0 + 3.0 * unit()).floor(),
            InputKind::Number | InputKind::Curve => 10.0_f64.powf(2.0 * unit() - 1.0),
        };
        Input::Scalar((0..n_rows).map(|_| value()).collect())
    });
    Evaluate { params: manifest.default_params(), n_rows, inputs: inputs.collect() }
}

/// A plugin in this very process.
struct InProcess {
    plugin: &'static abi::Plugin,
    this: *mut c_void,
    n_criteria: usize,
}

impl InProcess {
    fn load(path: &Path) -> InProcess {
        // SAFETY: the library is one of this build.
        let library = unsafe { libloading::Library::new(path) }.expect("a library");
        // SAFETY: the header gives the entry this type.
        let entry = unsafe { *library.get::<abi::Entry>(abi::ENTRY).expect("an entry") };
        mem::forget(library);
        // SAFETY: the entry may be called at any time, and tables are static.
        let plugin = unsafe { entry(0).as_ref() }.expect("a plugin");
        // SAFETY: the header makes the manifest static and of this length.
        let text = unsafe { std::slice::from_raw_parts(plugin.manifest.ptr, plugin.manifest.len) };
        let manifest =
            Manifest::parse(std::str::from_utf8(text).expect("text")).expect("a manifest");
        let params = manifest.default_params();
        let mut this = ptr::null_mut();
        let create = plugin.create.expect("a create function");
        // SAFETY: all pointers are live, and `params` has the length given.
        let status = unsafe { create(&HOST, params.as_ptr(), params.len(), &mut this) };
        assert_eq!(status, abi::OK);
        InProcess { plugin, this, n_criteria: manifest.criteria.len() }
    }

    fn scores(&self, batch: &Evaluate) -> Vec<f64> {
        let mut scores = vec![abi::NOT_SCORED; batch.n_rows * self.n_criteria];
        let evaluate = self.plugin.evaluate.expect("an evaluate function");
        for (at, scores) in scores.chunks_mut(DRAWS * self.n_criteria).enumerate() {
            let inputs: Vec<abi::Input> =
                batch.inputs.iter().map(|it| raw(it, at * DRAWS)).collect();
            let pointers: Vec<*const abi::Input> = inputs.iter().map(ptr::from_ref).collect();
            let batch = abi::Batch {
                struct_size: abi::size_of_u32::<abi::Batch>(),
                n_inputs: u32::try_from(pointers.len()).unwrap_or(u32::MAX),
                n_rows: scores.len() / self.n_criteria,
                n_criteria: self.n_criteria,
                inputs: pointers.as_ptr(),
                scores: scores.as_mut_ptr(),
            };
            // SAFETY: all pointers are live and as long as the batch says.
            assert_eq!(unsafe { evaluate(self.this, &HOST, &batch) }, abi::OK);
        }
        scores
    }
}

fn raw(input: &Input, from: usize) -> abi::Input {
    let Input::Scalar(values) = input else { unreachable!("no plugin of this build reads curves") };
    abi::Input {
        struct_size: abi::size_of_u32::<abi::Input>(),
        kind: abi::KIND_NUMBER,
        n_points: 0,
        grid: ptr::null(),
        values: values[from..].as_ptr(),
    }
}

/// A host that listens to nothing.
const HOST: abi::Host = abi::Host {
    struct_size: abi::size_of_u32::<abi::Host>(),
    abi_major: abi::ABI_MAJOR,
    abi_minor: abi::ABI_MINOR,
    ctx: ptr::null_mut(),
    log: Some(log),
    remark: Some(remark),
    should_stop: Some(should_stop),
};

unsafe extern "C" fn log(_ctx: *mut c_void, _level: i32, _text: abi::Str) {}

unsafe extern "C" fn remark(_ctx: *mut c_void, _remark: *const abi::Remark) {}

unsafe extern "C" fn should_stop(_ctx: *mut c_void) -> u32 {
    0
}

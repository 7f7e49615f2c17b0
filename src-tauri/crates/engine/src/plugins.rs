//! Which plugin files may be loaded, and loading them.
//!
//! Nothing is loaded that neither this build nor the user has pinned by hash.

mod faults;

use std::{
    env, fs,
    path::{Path, PathBuf},
    sync::{Mutex, OnceLock, PoisonError},
    thread,
};

use bw_sdk::manifest::Manifest;
use catalog::{KnownManifest, Trusted};
use faults::Ledger;
use host::{
    Blocking, Evaluate, Evaluation, Fault, HostOptions, Loaded, PluginFile, Sandbox, Sha256Sum,
    sha256_file,
};

use crate::{
    Engine, Error, clock,
    declared::{self, Declarations},
    dto::{PluginFileView, PluginList, PluginRow, ReplacedPlugin, TrustReport},
};

/// Said whenever somebody is about to trust a plugin.
const TRUST_CAUTION: &str = "A plugin is native code. It runs in a process of its own, shut in as listed, but no \
                             sandbox is perfect: trust only files from people you trust.";

/// SHA-256 and name of the plugins of this build; see `build.rs`.
const PINS: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/pins.rs"));

/// The plugins of this build, in the order of results.
pub(crate) const OWN: [&str; 4] = ["cabinet", "driver", "crossover", "wiring"];

/// Names another folder for the plugins of this build, for packagers.
const FOLDER_VARIABLE: &str = "BOXWORTH_PLUGINS";

/// The host and what it has loaded.
#[derive(Debug)]
pub(crate) struct Plugins {
    require_sandbox: bool,
    host: OnceLock<Result<Blocking, String>>,
    loaded: Mutex<Vec<Loaded>>,
    ledger: Ledger,
}

/// What becomes of what a plugin says about rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Said {
    Kept,
    /// Nobody reads it, which is quicker.
    Dropped,
}

/// A plugin file that may be loaded, or why not.
#[derive(Debug, Clone)]
pub(crate) struct Candidate {
    pub(crate) file: PathBuf,
    /// The subsystem it is known to score before it is loaded.
    pub(crate) own: Option<&'static str>,
    pub(crate) sha256: String,
    pub(crate) trusted_by: Option<&'static str>,
    pub(crate) pinned: Result<PluginFile, String>,
}

impl Candidate {
    /// What it is called before it is loaded.
    pub(crate) fn name(&self) -> String {
        let file = || self.file.file_name().map(|it| it.to_string_lossy().into_owned());
        self.own.map(str::to_owned).or_else(file).unwrap_or_default()
    }
}

impl Plugins {
    pub(crate) fn new(require_sandbox: bool, catalogue: PathBuf) -> Self {
        let ledger = Ledger::new(catalogue);
        Plugins { require_sandbox, host: OnceLock::new(), loaded: Mutex::default(), ledger }
    }

    fn host(&self) -> Result<&Blocking, String> {
        let made = self.host.get_or_init(|| {
            let options =
                HostOptions { require_sandbox: self.require_sandbox, ..HostOptions::default() };
            Blocking::new(options).map_err(|why| format!("the plugin host cannot start: {why}"))
        });
        made.as_ref().map_err(Clone::clone)
    }

    /// The plugins of this build, then those that the user trusts.
    pub(crate) fn candidates(trusted: &[Trusted]) -> Vec<Candidate> {
        OWN.into_iter().map(own).chain(trusted.iter().map(users)).collect()
    }

    /// Loads a file, or gives it as loaded before. What is in quarantine is left alone; a failure is written down.
    pub(crate) fn load(&self, file: &PluginFile) -> Result<Loaded, String> {
        self.load_or(file, |fault| self.ledger.record(file, &fault))
    }

    fn load_or(
        &self,
        file: &PluginFile,
        failed: impl FnOnce(Fault) -> String,
    ) -> Result<Loaded, String> {
        let record = self.ledger.read(&file.sha256.to_string()).map_err(|why| why.to_string())?;
        if let Some(why) = record.quarantine(&file.path) {
            return Err(why);
        }
        let known = self
            .loaded
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .iter()
            .find(|it| it.file == *file)
            .cloned();
        if let Some(it) = known {
            return Ok(it);
        }
        let it = self.host()?.load(file).map_err(failed)?;
        self.loaded.lock().unwrap_or_else(PoisonError::into_inner).push(it.clone());
        Ok(it)
    }

    /// Loads the plugins of this build where none is loaded yet, for a question that will ask them when it has read its products.
    /// What fails here is tried again, said and written down when they are asked.
    pub(crate) fn begin(&self) {
        if self.loaded.lock().unwrap_or_else(PoisonError::into_inner).is_empty() {
            thread::scope(|scope| {
                for it in Plugins::candidates(&[]) {
                    scope.spawn(|| {
                        it.pinned.and_then(|file| self.load_or(&file, |it| it.to_string()))
                    });
                }
            });
        }
    }

    /// Asks a plugin about rows; a failure is written down.
    pub(crate) fn ask(
        &self,
        plugin: &Loaded,
        request: Evaluate,
        said: Said,
    ) -> Result<Evaluation, String> {
        let host = self.host()?;
        let answer = match said {
            Said::Kept => host.evaluate(plugin, request),
            Said::Dropped => host.scores(plugin, request),
        };
        answer.map_err(|fault| self.ledger.record(&plugin.file, &fault))
    }
}

fn own(name: &'static str) -> Candidate {
    let file =
        own_folder().join(format!("{}{name}{}", env::consts::DLL_PREFIX, env::consts::DLL_SUFFIX));
    let found = sha256_file(&file);
    let sha256 = found.as_ref().map(ToString::to_string).unwrap_or_default();
    let pinned = match found {
        Err(why) => Err(format!("{} cannot be read: {why}", file.display())),
        Ok(sha256) if is_pinned(name, &sha256) => Ok(PluginFile { path: file.clone(), sha256 }),
        Ok(_) if PINS.is_empty() => {
            Err("this build knows no plugins; it must be made with `cargo xtask build`".to_owned())
        }
        Ok(_) => {
            Err("the file is not the one that belongs to this build; it is not loaded".to_owned())
        }
    };
    Candidate {
        file,
        own: Some(name),
        sha256,
        trusted_by: pinned.is_ok().then_some("this build"),
        pinned,
    }
}

fn is_pinned(name: &str, sha256: &Sha256Sum) -> bool {
    let text = sha256.to_string();
    PINS.iter().any(|(pin, of)| *of == name && *pin == text)
}

/// Whether a file of this hash belongs to this build.
fn is_own(sha256: &Sha256Sum) -> bool {
    OWN.iter().any(|name| is_pinned(name, sha256))
}

fn users(it: &Trusted) -> Candidate {
    let file = PathBuf::from(&it.path);
    let pinned = it.sha256.parse::<Sha256Sum>().map_err(|why| why.to_string());
    let pinned = pinned.and_then(|sha256| unchanged(PluginFile { path: file.clone(), sha256 }));
    Candidate { file, own: None, sha256: it.sha256.clone(), trusted_by: Some("you"), pinned }
}

/// The file if it is still the one that was trusted. A worker looks once more, at the very bytes that it loads.
fn unchanged(file: PluginFile) -> Result<PluginFile, String> {
    let PluginFile { path, sha256 } = &file;
    let shown = path.display();
    let now = sha256_file(path).map_err(|why| format!("{shown} cannot be read: {why}"))?;
    if now == *sha256 {
        return Ok(file);
    }
    let bytes = size_bytes(path).map_or_else(|| "?".into(), |it| it.to_string());
    Err(format!(
        "{shown} has changed and is not loaded: it now has {bytes} bytes and SHA-256 {now}; \
         what you trusted has {sha256}; to trust what is there now, use `boxworth plugin trust {shown}`"
    ))
}

/// The file by its full path, with the hash of its bytes.
fn file_to_decide_on(file: &Path) -> Result<Trusted, Error> {
    let refuse = |why: String| Error::Plugin { file: file.display().to_string(), why };
    let path = file.canonicalize().map_err(|why| refuse(format!("cannot be read: {why}")))?;
    let sha256 = sha256_file(&path).map_err(|why| refuse(format!("cannot be read: {why}")))?;
    let text = path.to_str().ok_or_else(|| refuse("has a path that is not Unicode".into()))?;
    Ok(Trusted { sha256: sha256.to_string(), path: text.to_owned() })
}

fn id_of(it: &KnownManifest) -> Option<String> {
    Manifest::parse(&it.manifest).ok().map(|it| it.id)
}

/// The decisions that end when `new` is trusted: about what was at its path, and about other files of the plugin `id`.
fn replaced(
    trusted: &[Trusted],
    manifests: &[KnownManifest],
    new: &Trusted,
    id: Option<&str>,
) -> Vec<ReplacedPlugin> {
    let of = |it: &Trusted| {
        let kept = manifests.iter().find(|known| known.sha256 == it.sha256)?;
        Manifest::parse(&kept.manifest).ok()
    };
    let others = trusted.iter().filter(|it| it.sha256 != new.sha256);
    others
        .filter_map(|it| {
            let manifest = of(it);
            let is_same = id.is_some() && manifest.as_ref().map(|it| it.id.as_str()) == id;
            (it.path == new.path || is_same).then(|| ReplacedPlugin {
                path: it.path.clone(),
                sha256: it.sha256.clone(),
                version: manifest.as_ref().map(|it| it.version.clone()),
                id: manifest.map(|it| it.id),
            })
        })
        .collect()
}

fn size_bytes(path: &Path) -> Option<u32> {
    fs::metadata(path).ok().map(|it| u32::try_from(it.len()).unwrap_or(u32::MAX))
}

fn own_folder() -> PathBuf {
    if let Some(folder) = env::var_os(FOLDER_VARIABLE) {
        return folder.into();
    }
    let exe = env::current_exe().unwrap_or_default();
    exe.parent().unwrap_or(Path::new(".")).to_owned()
}

pub(crate) fn sandbox_word(it: &Sandbox) -> String {
    match it {
        Sandbox::Full => "full".into(),
        Sandbox::Partial { missing } => format!("partial: {missing}"),
        Sandbox::ProcessOnly => "process only".into(),
    }
}

impl Engine {
    /// The plugins of this build and those trusted by the user, each loaded to see that it can be.
    ///
    /// # Errors
    /// When the catalogue cannot be read.
    pub fn plugins(&self) -> Result<PluginList, Error> {
        let trusted = self.reader().trusted_plugins()?;
        let plugins = Plugins::candidates(&trusted).iter().map(|it| self.plugin_row(it)).collect();
        Ok(PluginList { plugins })
    }

    pub(crate) fn plugin_row(&self, it: &Candidate) -> PluginRow {
        let loaded =
            it.pinned.as_ref().map_err(Clone::clone).and_then(|file| self.plugins.load(file));
        let file =
            it.file.file_name().map(|it| it.to_string_lossy().into_owned()).unwrap_or_default();
        // Unreadable, it cannot be loaded either, and the fault of the row says so.
        let record = self.plugins.ledger.read(&it.sha256).unwrap_or_default();
        let trusted_at = self.reader().trusted_at(&it.sha256).unwrap_or_default();
        let (faults, quarantined_since) = faults::rows(record);
        let mut row = PluginRow {
            file,
            path: it.file.display().to_string(),
            size_bytes: size_bytes(&it.file),
            trusted_at,
            faults,
            quarantined_since,
            sha256: it.sha256.clone(),
            trusted_by: it.trusted_by.map(str::to_owned),
            id: None,
            name: None,
            version: None,
            subsystem: it.own.map(str::to_owned),
            criteria: 0,
            sandbox: None,
            fault: None,
        };
        match loaded {
            Ok(it) => {
                row.id = Some(it.manifest.id.clone());
                row.name = Some(it.manifest.name.clone());
                row.version = Some(it.manifest.version.clone());
                row.subsystem = Some(it.manifest.subsystem.clone());
                row.criteria = u32::try_from(it.manifest.criteria.len()).unwrap_or(u32::MAX);
                row.sandbox = Some(sandbox_word(&it.sandbox));
            }
            Err(why) => row.fault = Some(why),
        }
        row
    }

    /// A plugin file as it is now, for somebody who has to decide on it. Nothing is loaded and nothing remembered.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn look_at_plugin(&self, file: &Path) -> Result<PluginFileView, Error> {
        let it = file_to_decide_on(file)?;
        let reader = self.reader();
        let manifests = reader.plugin_manifests()?;
        // Known without loading: what was at this path, and, when these bytes were trusted before, what is of the same id.
        let id = manifests.iter().find(|known| known.sha256 == it.sha256).and_then(id_of);
        let replaces = replaced(&reader.trusted_plugins()?, &manifests, &it, id.as_deref());
        Ok(PluginFileView {
            size_bytes: size_bytes(Path::new(&it.path)).unwrap_or_default(),
            trusted_at: reader.trusted_at(&it.sha256)?,
            replaces,
            caution: TRUST_CAUTION.into(),
            path: it.path,
            sha256: it.sha256,
        })
    }

    /// Remembers in the catalogue that a plugin file of this very content may be loaded, and loads it. Decisions about
    /// other versions of the plugin, and about what else was at that path, end.
    ///
    /// # Errors
    /// When the file cannot be read or loaded, is no longer the one of the hash that was looked at, scores a subsystem that
    /// is taken, or declares or reads findings that cannot be had; nothing is remembered then.
    pub fn trust_plugin(&self, file: &Path, sha256: Option<&str>) -> Result<TrustReport, Error> {
        let refuse = |why: String| Error::Plugin { file: file.display().to_string(), why };
        let it = file_to_decide_on(file)?;
        if let Some(seen) = sha256.filter(|seen| *seen != it.sha256) {
            return Err(refuse(format!(
                "has changed since you looked at it: it now has SHA-256 {}, not {seen}; look at it again",
                it.sha256
            )));
        }
        let candidate = users(&it);
        let loaded = candidate.pinned.clone().and_then(|file| self.plugins.load(&file));
        let manifest = loaded.map_err(&refuse)?.manifest;
        let row = self.plugin_row(&candidate);
        let replaces = {
            let reader = self.reader();
            let declarations = Declarations::read(&reader)?;
            declared::check(&manifest, &declarations.dictionary)
                .map_err(|why| refuse(why.to_string()))?;
            let manifests = reader.plugin_manifests()?;
            replaced(&reader.trusted_plugins()?, &manifests, &it, Some(&manifest.id))
        };
        let ended: Vec<String> = replaces.iter().map(|it| it.sha256.clone()).collect();
        let stays =
            |other: &&PluginRow| other.sha256 != it.sha256 && !ended.contains(&other.sha256);
        let taken = self.plugins()?.plugins;
        if let Some(other) =
            taken.iter().filter(stays).find(|other| other.subsystem == row.subsystem)
        {
            return Err(refuse(format!(
                "scores the subsystem {:?}, which {} scores already",
                manifest.subsystem, other.file
            )));
        }
        let manifest = serde_json::to_string(&*manifest)
            .map_err(|why| Error::Internal(format!("a manifest cannot be kept: {why}")))?;
        self.writer()?.trust_plugin(&it, &manifest, &ended, &clock::now())?;
        // Now with the time of the decision.
        Ok(TrustReport { plugin: self.plugin_row(&candidate), replaces })
    }

    /// Forgets the decision to trust a plugin, named by its hash or its path.
    ///
    /// # Errors
    /// When there is no such decision.
    pub fn revoke_plugin(&self, hash_or_path: &str) -> Result<(), Error> {
        let trusted = self.reader().trusted_plugins()?;
        let full = Path::new(hash_or_path).canonicalize().ok();
        let named = |it: &&Trusted| {
            it.sha256 == hash_or_path
                || it.path == hash_or_path
                || full.as_deref() == Some(Path::new(&it.path))
        };
        let Some(it) = trusted.iter().find(named) else {
            return Err(Error::Plugin {
                file: hash_or_path.into(),
                why: "was never trusted".into(),
            });
        };
        self.writer()?.revoke_plugin(&it.sha256)?;
        Ok(())
    }
}

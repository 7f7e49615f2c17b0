//! Commands around plugins: what they judge by, changes of the rubric, trust, quarantine, conformance.

use std::path::PathBuf;

use engine::{CheckRequest, dto};
use serde::Deserialize;
use tauri::State;

use super::{Answer, Shared, ask, long};
use crate::page::Listener;

#[tauri::command]
pub(crate) async fn judgement(desk: Shared<'_>) -> Answer<dto::Judgement> {
    ask(&desk, |engine| engine.judgement()).await
}

/// A change of a number.
#[derive(Debug, Deserialize)]
pub(crate) struct RubricSet {
    address: String,
    value: String,
    reason: String,
}

#[tauri::command]
pub(crate) async fn rubric_set(desk: Shared<'_>, request: RubricSet) -> Answer<dto::RubricSetting> {
    let RubricSet { address, value, reason } = request;
    ask(&desk, move |engine| engine.set_rubric(&address, &value, &reason)).await
}

/// A number.
#[derive(Debug, Deserialize)]
pub(crate) struct RubricReset {
    address: String,
}

#[tauri::command]
pub(crate) async fn rubric_reset(
    desk: Shared<'_>,
    request: RubricReset,
) -> Answer<dto::RubricSetting> {
    ask(&desk, move |engine| engine.reset_rubric(&request.address)).await
}

/// A plugin file.
#[derive(Debug, Deserialize)]
pub(crate) struct PluginFile {
    file: PathBuf,
}

#[tauri::command]
pub(crate) async fn plugin_look(
    desk: Shared<'_>,
    request: PluginFile,
) -> Answer<dto::PluginFileView> {
    ask(&desk, move |engine| engine.look_at_plugin(&request.file)).await
}

/// A plugin file as it was looked at.
#[derive(Debug, Deserialize)]
pub(crate) struct PluginTrust {
    file: PathBuf,
    sha256: String,
}

#[tauri::command]
pub(crate) async fn plugin_trust(
    desk: Shared<'_>,
    request: PluginTrust,
) -> Answer<dto::TrustReport> {
    ask(&desk, move |engine| engine.trust_plugin(&request.file, Some(&request.sha256))).await
}

/// A plugin by its hash.
#[derive(Debug, Deserialize)]
pub(crate) struct KnownPlugin {
    sha256: String,
}

#[tauri::command]
pub(crate) async fn plugin_revoke(desk: Shared<'_>, request: KnownPlugin) -> Answer<()> {
    ask(&desk, move |engine| engine.revoke_plugin(&request.sha256)).await
}

#[tauri::command]
pub(crate) async fn plugin_release(
    desk: Shared<'_>,
    request: KnownPlugin,
) -> Answer<dto::PluginRow> {
    ask(&desk, move |engine| engine.release_plugin(&request.sha256)).await
}

/// A plugin file to check, and the number of the work.
#[derive(Debug, Deserialize)]
pub(crate) struct PluginCheck {
    file: PathBuf,
    work: u32,
}

#[tauri::command]
pub(crate) async fn plugin_check(
    desk: Shared<'_>,
    listener: State<'_, Listener>,
    request: PluginCheck,
) -> Answer<dto::PluginCheck> {
    let PluginCheck { file, work } = request;
    long(&desk, &listener, work, move |_, watch| {
        let request = CheckRequest { file, only: Vec::new(), require_sandbox: false };
        engine::check_plugin(&request, watch)
    })
    .await
}

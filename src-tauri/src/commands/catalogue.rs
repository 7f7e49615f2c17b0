//! Commands around the catalogue as a file: which one is open, making one, filling one.

use std::path::PathBuf;

use engine::{Engine, ErrorDto, ImportRequest, NewRequest, dto};
use serde::{Deserialize, Serialize};
use tauri::{AppHandle, State, async_runtime::spawn_blocking, ipc::Channel};
use tauri_plugin_dialog::DialogExt;

use super::{Answer, Shared, at_desk, long, stopped};
use crate::{
    desk::Status,
    page::{Listener, MenuOf, Told, show_menus},
};

/// The menus that the page wants; from now on it is told what happens outside it.
#[derive(Debug, Deserialize)]
pub(crate) struct Attend {
    menus: Vec<MenuOf>,
}

#[tauri::command]
pub(crate) async fn attend(
    app: AppHandle,
    listener: State<'_, Listener>,
    channel: Channel<Told>,
    request: Attend,
) -> Answer<()> {
    listener.set(channel);
    show_menus(&app, &request.menus).map_err(|why| stopped(&why))
}

/// A number for the long work that the page is about to ask for.
#[tauri::command]
pub(crate) async fn announce(desk: Shared<'_>) -> Answer<u32> {
    Ok(desk.announce())
}

/// A piece of work by its number.
#[derive(Debug, Deserialize)]
pub(crate) struct Work {
    work: u32,
}

/// Ends a piece of work at its next step, or before it has begun.
#[tauri::command]
pub(crate) async fn cancel(desk: Shared<'_>, request: Work) -> Answer<()> {
    desk.cancel(request.work);
    Ok(())
}

/// The catalogues opened before, the last one first.
#[tauri::command]
pub(crate) async fn recent(desk: Shared<'_>) -> Answer<Vec<String>> {
    at_desk(&desk, |desk| Ok(desk.recent())).await
}

/// A new catalogue.
#[derive(Debug, Deserialize)]
pub(crate) struct NewCatalogue {
    file: String,
    title: Option<String>,
    currency: String,
    base_month: String,
}

#[tauri::command]
pub(crate) async fn catalogue_new(desk: Shared<'_>, request: NewCatalogue) -> Answer<Status> {
    at_desk(&desk, move |desk| {
        let file = PathBuf::from(&request.file);
        let NewCatalogue { title, currency, base_month, .. } = request;
        desk.make(&file, |file| Engine::create(file, &NewRequest { title, currency, base_month }))
    })
    .await
}

#[tauri::command]
pub(crate) async fn catalogue_seed(desk: Shared<'_>) -> Answer<Status> {
    at_desk(&desk, |desk| {
        let file = desk.file().with_file_name("seed.boxworth");
        if file.is_file() { desk.open(&file) } else { desk.make(&file, Engine::create_seed) }
    })
    .await
}

/// A file.
#[derive(Debug, Deserialize)]
pub(crate) struct AFile {
    file: String,
}

#[tauri::command]
pub(crate) async fn catalogue_open(desk: Shared<'_>, request: AFile) -> Answer<Status> {
    at_desk(&desk, move |desk| desk.open(&PathBuf::from(request.file))).await
}

/// What to choose: `catalogue`, `new`, `folder`, `plugin` or `picture`.
#[derive(Debug, Deserialize)]
pub(crate) struct Choose {
    what: String,
}

/// Lets somebody choose a file or a folder in the system's own dialog; `None` when it was closed.
#[tauri::command]
pub(crate) async fn choose(app: AppHandle, request: Choose) -> Answer<Option<String>> {
    let chosen = spawn_blocking(move || {
        let dialog = app.dialog().file();
        let catalogues = |it: tauri_plugin_dialog::FileDialogBuilder<tauri::Wry>| {
            it.add_filter("Catalogues", &["boxworth"])
        };
        match request.what.as_str() {
            "catalogue" => catalogues(dialog).blocking_pick_file(),
            "new" => catalogues(dialog).set_file_name("shelf.boxworth").blocking_save_file(),
            "folder" => dialog.blocking_pick_folder(),
            "plugin" => dialog
                .add_filter("Plugins", &[std::env::consts::DLL_EXTENSION])
                .blocking_pick_file(),
            "picture" => {
                dialog.add_filter("Pictures", &["jpg", "jpeg", "png", "webp"]).blocking_pick_file()
            }
            _ => None,
        }
    });
    let chosen = chosen.await.map_err(|why| stopped(&why))?;
    Ok(chosen.and_then(|it| it.into_path().ok()).map(|it| it.display().to_string()))
}

/// What to import, and the number of the work.
#[derive(Debug, Deserialize)]
pub(crate) struct Import {
    paths: Vec<PathBuf>,
    dry_run: bool,
    work: u32,
}

/// What an import did or would do, or all that is wrong with the folder.
#[derive(Debug, Serialize)]
pub(crate) struct Imported {
    report: Option<dto::ImportReport>,
    faults: Vec<ErrorDto>,
}

#[tauri::command]
pub(crate) async fn import(
    desk: Shared<'_>,
    listener: State<'_, Listener>,
    request: Import,
) -> Answer<Imported> {
    let Import { paths, dry_run, work } = request;
    long(&desk, &listener, work, move |desk, watch| {
        match desk.engine()?.import(&ImportRequest { paths, dry_run }, watch) {
            Ok(report) => Ok(Imported { report: Some(report), faults: Vec::new() }),
            Err(why @ engine::Error::Import { .. }) => {
                Ok(Imported { report: None, faults: why.faults() })
            }
            Err(why) => Err(why),
        }
    })
    .await
}

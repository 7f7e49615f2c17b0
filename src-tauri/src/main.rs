//! `boxworth-app`: the window. It hands questions of the page to the engine, and nothing else.
#![forbid(unsafe_code)]
#![cfg_attr(not(debug_assertions), windows_subsystem = "windows")]

#[macro_use]
mod command_list;
mod ahead;
mod arguments;
mod commands;
mod desk;
mod page;
mod recent;

use std::{io::Write, path::PathBuf, process::ExitCode, sync::Arc};

use arguments::Asked;
use desk::Desk;
use page::{Listener, Told};
use recent::Recent;
use tauri_plugin_window_state::StateFlags;

/// Refused: bad input, nothing done. The same status as the command line's.
const REFUSED: u8 = 2;
/// A fault of the program or of the system's web view.
const INTERNAL: u8 = 3;

macro_rules! handler {
    ($($name:ident),*) => { tauri::generate_handler![$(commands::$name),*] };
}

fn main() -> ExitCode {
    let catalogue = match arguments::parse(std::env::args_os().skip(1)) {
        Ok(Asked::Window(named)) => named.map_or_else(last_or_default, Ok),
        Ok(Asked::Help) => return say(arguments::USAGE),
        Ok(Asked::Version) => {
            return say(concat!("boxworth-app ", env!("CARGO_PKG_VERSION"), "\n"));
        }
        Err(why) => return refuse(REFUSED, &why),
    };
    match catalogue {
        Ok(catalogue) => window(catalogue),
        Err(why) => refuse(REFUSED, &why.to_string()),
    }
}

fn recent() -> Recent {
    Recent::in_folder(engine::settings_folder())
}

/// The catalogue that was opened last, else the one of the command line.
fn last_or_default() -> Result<PathBuf, engine::Error> {
    recent().list().into_iter().next().map_or_else(engine::default_catalogue, Ok)
}

fn window(catalogue: PathBuf) -> ExitCode {
    let desk = Arc::new(Desk::new(catalogue, recent()));
    desk.start();
    let listener = Listener::default();
    let (of_menus, of_drops) = (listener.clone(), listener.clone());
    // Whether it was visible is left out: a window that starts hidden cannot be found again.
    let kept = StateFlags::SIZE | StateFlags::POSITION | StateFlags::MAXIMIZED;
    let ended = tauri::Builder::default()
        .plugin(tauri_plugin_dialog::init())
        .plugin(tauri_plugin_window_state::Builder::new().with_state_flags(kept).build())
        .manage(desk)
        .manage(listener)
        .on_menu_event(move |app, event| match event.id().0.as_str() {
            "quit" => app.exit(0),
            id => of_menus.tell(Told::Act { id: id.to_owned() }),
        })
        .on_window_event(move |_, event| of_drops.follow(event))
        .invoke_handler(with_commands!(handler))
        .run(tauri::generate_context!());
    match ended {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => refuse(INTERNAL, &format!("the window cannot be opened: {why}")),
    }
}

fn refuse(status: u8, why: &str) -> ExitCode {
    complain(why);
    ExitCode::from(status)
}

fn say(text: &str) -> ExitCode {
    // A reader that has gone away wants no more text.
    drop(std::io::stdout().write_all(text.as_bytes()));
    ExitCode::SUCCESS
}

/// Writes to standard error. Without one, as when started from a menu, there is nobody to tell.
pub(crate) fn complain(why: &str) {
    drop(writeln!(std::io::stderr(), "boxworth-app: {why}"));
}

//! What the window tells the page without being asked, and the menus that the page wants.

use std::{
    ops::ControlFlow,
    path::Path,
    sync::{Arc, Mutex, PoisonError},
};

use engine::Progress;
use serde::{Deserialize, Serialize};
use tauri::{
    AppHandle, DragDropEvent, WindowEvent,
    ipc::Channel,
    menu::{Menu, MenuItem, Submenu},
};

use crate::desk::Desk;

/// Something that happened outside the page. The page has the same type by hand.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub(crate) enum Told {
    /// A menu item was chosen.
    Act { id: String },
    /// Files are held over the window, or no longer.
    Hover { over: bool },
    /// Files were dropped on the window.
    Drop { paths: Vec<Dropped> },
    /// How far a piece of work has come.
    Progress { work: u32, done: u32, total: u32, step: String },
}

impl Told {
    pub(crate) fn progress(work: u32, it: Progress) -> Self {
        let count = |it: usize| u32::try_from(it).unwrap_or(u32::MAX);
        Told::Progress { work, done: count(it.done), total: count(it.total), step: it.step }
    }
}

/// A file or folder that was dropped. The page cannot tell one from the other, whatever the name.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct Dropped {
    path: String,
    is_folder: bool,
}

impl Dropped {
    fn of(path: &Path) -> Self {
        Dropped { path: path.to_string_lossy().into_owned(), is_folder: path.is_dir() }
    }
}

/// A menu of the window.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct MenuOf {
    title: String,
    items: Vec<MenuItemOf>,
}

/// One item of a menu.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct MenuItemOf {
    /// What the page is told when it is chosen.
    id: String,
    title: String,
    /// Such as `Ctrl+O`.
    key: Option<String>,
}

/// The page that listens, once it does.
#[derive(Clone, Default)]
pub(crate) struct Listener(Arc<Mutex<Option<Channel<Told>>>>);

impl Listener {
    pub(crate) fn set(&self, page: Channel<Told>) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some(page);
    }

    pub(crate) fn tell(&self, what: Told) {
        let page = self.0.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some(Err(why)) = page.map(|page| page.send(what)) {
            crate::complain(&format!("the page cannot be told: {why}"));
        }
    }

    /// Tells how far a piece of work has come, and ends it there when the desk was asked to.
    pub(crate) fn watch(&self, desk: &Desk, work: u32, it: Progress) -> ControlFlow<()> {
        self.tell(Told::progress(work, it));
        if desk.is_cancelled(work) { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    }

    /// Files that are dragged over the window.
    pub(crate) fn follow(&self, event: &WindowEvent) {
        let WindowEvent::DragDrop(event) = event else { return };
        self.tell(match event {
            DragDropEvent::Enter { .. } => Told::Hover { over: true },
            DragDropEvent::Leave => Told::Hover { over: false },
            DragDropEvent::Drop { paths, .. } => {
                Told::Drop { paths: paths.iter().map(|it| Dropped::of(it)).collect() }
            }
            _ => return,
        });
    }
}

/// Gives the window these menus in place of those it has.
pub(crate) fn show_menus(app: &AppHandle, menus: &[MenuOf]) -> tauri::Result<()> {
    let bar = Menu::new(app)?;
    for it in menus {
        let menu = Submenu::new(app, &it.title, true)?;
        for it in &it.items {
            let key = it.key.as_deref();
            menu.append(&MenuItem::with_id(app, it.id.as_str(), &it.title, true, key)?)?;
        }
        bar.append(&menu)?;
    }
    app.set_menu(bar)?;
    Ok(())
}

//! What the window tells the page without being asked, and the menus that the page wants.

use std::{
    ops::ControlFlow,
    path::Path,
    sync::{Arc, Mutex, PoisonError},
    time::{Duration, Instant},
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

/// How long nothing is said of steps that the eye cannot tell apart.
const BREATH: Duration = Duration::from_millis(50);

/// How much of its progress a piece of work tells: each hundredth at once, and what lies between as fast as it can be read.
/// A folder of 10,000 files would keep the page busy with 10,000 messages, and it could not hear that it shall stop.
#[derive(Debug, Default)]
pub(crate) struct Pace(Option<(usize, Instant)>);

impl Pace {
    /// Whether to tell this, at that moment.
    fn is_due(&mut self, it: &Progress, now: Instant) -> bool {
        let hundredth = it.done * 100 / it.total.max(1);
        let is_due =
            self.0.is_none_or(|(told, at)| told != hundredth || now.duration_since(at) >= BREATH);
        if is_due {
            self.0 = Some((hundredth, now));
        }
        is_due
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
    pub(crate) fn watch(
        &self,
        desk: &Desk,
        pace: &mut Pace,
        work: u32,
        it: Progress,
    ) -> ControlFlow<()> {
        if pace.is_due(&it, Instant::now()) {
            self.tell(Told::progress(work, it));
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_hundredth_is_told_and_of_what_lies_between_as_much_as_can_be_read() {
        let start = Instant::now();
        let mut pace = Pace::default();
        let mut told = |done, millis| {
            let it = Progress { done, total: 10_000, step: String::new() };
            pace.is_due(&it, start + Duration::from_millis(millis))
        };
        let seen = [(0, 0), (1, 1), (99, 40), (100, 41), (101, 42), (150, 91), (151, 92)];
        let seen = seen.map(|(done, millis)| told(done, millis));
        assert_eq!(seen, [true, false, false, true, false, true, false]);
    }
}

//! Copies are whole, damaged ones are found, and the rule of what stays.

use std::fs;

use super::{Occasion, back_up, copies, extent, folder, restore, superfluous, unfinished, verify};
use crate::{Catalog, Error, Info, Reader};

fn info(title: &str) -> Info {
    Info {
        title: title.into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    }
}

fn titled(title: &str) -> (tempfile::TempDir, std::path::PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("a.boxworth");
    drop(Catalog::create(&file, &info(title)).unwrap());
    (dir, file)
}

#[test]
fn a_copy_is_whole_and_lies_in_the_folder_of_the_catalogue() {
    let (_dir, file) = titled("one");
    let copy = back_up(&file, Occasion::Asked, "2026-11-29T10-00-00Z").unwrap();
    assert_eq!(copy.path, folder(&file).join("asked.2026-11-29T10-00-00Z.boxworth"));
    verify(&copy.path).unwrap();
    assert_eq!(Reader::open(&copy.path).unwrap().info().unwrap().title, "one");
    assert_eq!(copies(&file).unwrap().len(), 1);
    // A second copy of the same second does not take the place of the first.
    back_up(&file, Occasion::Asked, "2026-11-29T10-00-00Z").unwrap();
    assert_eq!(copies(&file).unwrap().len(), 2);
}

#[test]
fn a_copy_is_made_while_somebody_else_has_the_catalogue_open() {
    let (_dir, file) = titled("one");
    let writer = Catalog::open(&file).unwrap();
    let reader = Reader::open(&file).unwrap();
    back_up(&file, Occasion::Daily, "2026-11-29T10-00-00Z").unwrap();
    assert_eq!(reader.info().unwrap(), writer.reader().info().unwrap());
}

#[test]
fn a_damaged_copy_is_found_and_does_not_replace_anything() {
    let (_dir, file) = titled("one");
    let copy = back_up(&file, Occasion::Asked, "2026-11-29T10-00-00Z").unwrap();
    let mut bytes = fs::read(&copy.path).unwrap();
    // Into the pages after the first, which holds the header.
    for byte in &mut bytes[4096..8192] {
        *byte ^= 0x55;
    }
    fs::write(&copy.path, bytes).unwrap();
    assert!(verify(&copy.path).is_err());
    assert!(restore(&copy.path, &file).is_err());
    assert_eq!(Reader::open(&file).unwrap().info().unwrap().title, "one");
}

#[test]
fn no_two_catalogues_share_a_folder() {
    let names = ["a.boxworth", "a.db", "a", "b.boxworth"];
    let folders: std::collections::BTreeSet<_> =
        names.iter().map(|it| folder(std::path::Path::new(it))).collect();
    assert_eq!(folders.len(), names.len(), "{folders:?}");
}

#[test]
fn what_is_no_catalogue_is_not_copied() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("a.boxworth");
    fs::write(&file, "not a catalogue, but longer than the hundred bytes in which a catalogue says what it is ..........").unwrap();
    assert!(matches!(back_up(&file, Occasion::Asked, "x"), Err(Error::Foreign { .. })));
    assert!(!folder(&file).exists());
}

#[test]
fn a_restore_brings_the_state_of_the_copy_back_also_where_the_file_is_gone() {
    let (_dir, file) = titled("one");
    let copy = back_up(&file, Occasion::Asked, "2026-11-29T10-00-00Z").unwrap();
    let before = fs::metadata(&copy.path).unwrap().len();
    rusqlite::Connection::open(&file)
        .unwrap()
        .execute("UPDATE info SET value = 'two' WHERE key = 'title'", [])
        .unwrap();
    assert_eq!(Reader::open(&file).unwrap().info().unwrap().title, "two");
    restore(&copy.path, &file).unwrap();
    assert_eq!(Reader::open(&file).unwrap().info().unwrap().title, "one");
    fs::remove_file(&file).unwrap();
    restore(&copy.path, &file).unwrap();
    assert_eq!(Reader::open(&file).unwrap().info().unwrap().title, "one");
    assert_eq!(fs::metadata(&copy.path).unwrap().len(), before);
    // It can be written again, with its log.
    drop(Catalog::open(&file).unwrap());
    assert_eq!(extent(&file).unwrap().last_change, None);
}

#[test]
fn seven_days_and_the_first_day_of_twelve_months_stay() {
    let mut stamps: Vec<String> = Vec::new();
    for month in 1..=14 {
        let (year, month) = if month > 12 { (2027, month - 12) } else { (2026, month) };
        for day in [3, 9, 27] {
            stamps.push(format!("{year}-{month:02}-{day:02}T08-00-00Z"));
        }
    }
    let names: Vec<&str> = stamps.iter().map(String::as_str).collect();
    let gone = superfluous(&names);
    let kept: Vec<&str> =
        (0..names.len()).filter(|it| !gone.contains(it)).map(|it| names[it]).collect();
    assert_eq!(
        kept,
        [
            "2026-03-03T08-00-00Z",
            "2026-04-03T08-00-00Z",
            "2026-05-03T08-00-00Z",
            "2026-06-03T08-00-00Z",
            "2026-07-03T08-00-00Z",
            "2026-08-03T08-00-00Z",
            "2026-09-03T08-00-00Z",
            "2026-10-03T08-00-00Z",
            "2026-11-03T08-00-00Z",
            "2026-12-03T08-00-00Z",
            // The newest seven.
            "2026-12-27T08-00-00Z",
            "2027-01-03T08-00-00Z",
            "2027-01-09T08-00-00Z",
            "2027-01-27T08-00-00Z",
            "2027-02-03T08-00-00Z",
            "2027-02-09T08-00-00Z",
            "2027-02-27T08-00-00Z",
        ]
    );
    assert!(superfluous(&names[..5]).is_empty());
}

#[test]
fn a_clock_that_was_put_back_costs_neither_the_new_copy_nor_the_old_ones_of_the_week() {
    let (_dir, file) = titled("one");
    for day in 1..=7 {
        back_up(&file, Occasion::Daily, &format!("2031-05-{day:02}T08-00-00Z")).unwrap();
    }
    let made = back_up(&file, Occasion::Daily, "2026-11-29T10-00-00Z").unwrap();
    assert!(made.path.exists(), "the copy just made was taken for the oldest");
    let kept: Vec<String> = copies(&file).unwrap().into_iter().map(|it| it.stamp).collect();
    // The first of May 2031 is the first of its month, and stays for that.
    assert_eq!(kept.len(), 8, "{kept:?}");
    // The clock is set right again: the day of the wrong clock is one day among others.
    for day in 8..=12 {
        back_up(&file, Occasion::Daily, &format!("2031-05-{day:02}T08-00-00Z")).unwrap();
    }
    let kept: Vec<String> = copies(&file).unwrap().into_iter().map(|it| it.stamp).collect();
    assert!(kept.contains(&"2031-05-12T08-00-00Z".to_owned()), "{kept:?}");
}

/// A change after a copy counts whatever the clock says.
#[test]
fn what_was_written_after_a_copy_is_beyond_it_whatever_the_clock_says() {
    let (_dir, file) = titled("one");
    let price = |day: &str| {
        let mut it = Catalog::open(&file).unwrap();
        let change = crate::RubricChange {
            plugin: None,
            path: "subsystem.cabinet".into(),
            value: Some("30".into()),
            reason: "invented".into(),
            recorded_at: format!("{day}T10:00:00Z"),
        };
        it.change_rubric(&change).unwrap();
    };
    price("2031-05-01");
    let copy = back_up(&file, Occasion::Asked, "2031-05-01T10-00-01Z").unwrap();
    price("2026-11-29");
    let (copied, now) = (extent(&copy.path).unwrap(), extent(&file).unwrap());
    assert_eq!(copied.last_change, now.last_change);
    assert!(now.is_beyond(&copied) && !copied.is_beyond(&now));
}

#[test]
fn what_a_crash_left_is_cleared_by_the_next_copy_and_nothing_else_is() {
    let (dir, file) = titled("one");
    fs::create_dir(folder(&file)).unwrap();
    let left = [
        folder(&file).join("daily.2026-11-28T10-00-00Z.part"),
        folder(&file).join("format.from-7.part-journal"),
        dir.path().join("a.boxworth.4711.part"),
    ];
    let others = [
        folder(&file).join("notes.part"),
        folder(&file).join("daily.txt"),
        dir.path().join("a.part"),
    ];
    for path in left.iter().chain(&others) {
        fs::write(path, "half of something").unwrap();
    }
    assert_eq!(unfinished(&file).len(), left.len());
    back_up(&file, Occasion::Asked, "2026-11-29T10-00-00Z").unwrap();
    assert_eq!(left.map(|it| it.exists()), [false; 3]);
    assert_eq!(others.map(|it| it.exists()), [true; 3]);
}

/// What another program is making right now is not taken for a leftover.
#[test]
fn copies_made_at_once_are_all_whole() {
    let (_dir, file) = titled("one");
    std::thread::scope(|threads| {
        for _ in 0..4 {
            threads.spawn(|| back_up(&file, Occasion::Asked, "2026-11-29T10-00-00Z").unwrap());
        }
    });
    let made = copies(&file).unwrap();
    assert_eq!(made.len(), 4, "{made:?}");
    for it in made {
        verify(&it.path).unwrap();
    }
}

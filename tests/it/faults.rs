//! What happens when the disk is full, the folder is gone, the file is not what it should be, or two write at once: a
//! sentence that says what to do, and a catalogue that is as before.

use std::{
    fs::{self, File},
    os::unix::{
        fs::{PermissionsExt, chown},
        process::CommandExt,
    },
    path::Path,
    process::Command,
};

use catalog::{Catalog, RubricChange};
use engine::{Engine, EngineOptions, RecordRequest};
use rusqlite::{Connection, config::DbConfig};
use tests::{Bench, Ran, seed};

/// An invented product of the seed catalogue.
const PRODUCT: &str = "thistlequern/grist-5";
const BRACES: &str = "cabinet.brace_count";
const RECORD: [&str; 4] = ["record", PRODUCT, BRACES, "3"];

/// What the catalogue says of the product.
fn sheet(bench: &Bench) -> String {
    bench.run(&["history", PRODUCT, "--json"]).done()
}

/// Refused with a sentence in which these words stand, and without a word for programmers.
#[track_caller]
fn refused(ran: &Ran, words: &str) {
    assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{}", ran.err);
    assert!(ran.err.contains(words), "{}", ran.err);
    for it in ["panicked", "Error {", "SQLITE_", "Os {"] {
        assert!(!ran.err.contains(it), "{}", ran.err);
    }
}

/// The program on another catalogue.
fn at(bench: &Bench, catalogue: &Path, arguments: &[&str]) -> Ran {
    let mut command = tests::command(tests::programs().join("boxworth"));
    command.env("HOME", bench.path("")).arg("--catalogue").arg(catalogue).args(arguments);
    Ran::from(command.output().unwrap())
}

/// Changes a file as no program of ours would.
fn meddle(catalogue: &Path, sql: &str) {
    let it = Connection::open(catalogue).unwrap();
    it.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, false).unwrap();
    it.execute_batch(sql).unwrap();
    it.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
}

/// The limit on the size of files (getrlimit(2), `RLIMIT_FSIZE`) is a full disk that needs no rights to make: a write past it
/// fails. The unit of `ulimit -f` in sh is 512 bytes (POSIX).
#[test]
fn a_disk_without_room_changes_nothing() {
    let bench = Bench::seeded();
    let before = sheet(&bench);
    let size = fs::metadata(bench.catalogue()).unwrap().len() / 512;
    for blocks in [1, 20, size / 2] {
        let program = bench.command(&RECORD);
        let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"");
        let mut command = tests::command("sh");
        command.args(["-c", &script]).arg(program.get_program()).args(program.get_args());
        command.env("HOME", bench.path(""));
        let ran = Ran::from(command.output().unwrap());
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{blocks}: {}", ran.err);
        let says = ["nothing was changed", "cannot use", "cannot be opened"];
        assert!(says.iter().any(|it| ran.err.contains(it)), "{blocks}: {}", ran.err);
        assert_eq!(sheet(&bench), before, "{blocks}");
    }
    let _ = bench.run(&RECORD).done();
    assert_ne!(sheet(&bench), before);
    let doctor = bench.run(&["doctor"]);
    assert_eq!(doctor.status, 0, "{}", doctor.out);
}

/// The program as somebody who may not do everything, with a folder of his own; root may write whatever the modes say.
fn as_somebody(bench: &Bench, arguments: &[&str]) -> Command {
    const NOBODY: u32 = 65534;
    let (mut command, program) = (bench.command(arguments), bench.path("boxworth"));
    if !rustix::process::geteuid().is_root() {
        return command;
    }
    if !program.exists() {
        fs::copy(tests::programs().join("boxworth"), &program).unwrap();
        for entry in fs::read_dir(bench.path("")).unwrap() {
            chown(entry.unwrap().path(), Some(NOBODY), Some(NOBODY)).unwrap();
        }
        chown(bench.path(""), Some(NOBODY), Some(NOBODY)).unwrap();
    }
    let arguments: Vec<_> = command.get_args().map(ToOwned::to_owned).collect();
    command = tests::command(program);
    command.args(arguments).env("HOME", bench.path("")).current_dir(bench.path(""));
    command.uid(NOBODY).gid(NOBODY);
    command
}

fn mode(path: &Path, bits: u32) {
    fs::set_permissions(path, fs::Permissions::from_mode(bits)).unwrap();
}

#[test]
fn what_may_not_be_written_is_said_to_be_so() {
    let bench = Bench::seeded();
    let run = |arguments: &[&str]| Ran::from(as_somebody(&bench, arguments).output().unwrap());
    let before = run(&["history", PRODUCT]).done();
    mode(&bench.catalogue(), 0o444);
    assert_eq!(run(&["history", PRODUCT]).done(), before);
    refused(&run(&RECORD), "may not be written here; nothing was changed");
    mode(&bench.catalogue(), 0o000);
    refused(&run(&RECORD), "ermission denied");
    mode(&bench.catalogue(), 0o644);
    // What SQLite keeps beside the file would have to be made.
    for name in ["shelf.boxworth-wal", "shelf.boxworth-shm"] {
        drop(fs::remove_file(bench.path(name)));
    }
    mode(&bench.path(""), 0o555);
    let ran = run(&RECORD);
    mode(&bench.path(""), 0o755);
    refused(&ran, "folder");
    assert_eq!(run(&["history", PRODUCT]).done(), before);
}

#[test]
fn a_folder_that_vanished_is_named_and_not_made_anew() {
    let bench = Bench::seeded();
    let gone = bench.path("gone");
    let moved = gone.join("shelf.boxworth");
    fs::create_dir(&gone).unwrap();
    for (name, bytes) in bench.files() {
        fs::write(gone.join(name), bytes).unwrap();
    }
    let engine = Engine::open(EngineOptions {
        catalogue: moved.clone(),
        require_sandbox: false,
        today: None,
        cache: None,
    })
    .unwrap();
    fs::remove_dir_all(&gone).unwrap();
    let request = RecordRequest {
        product: PRODUCT.into(),
        finding: BRACES.into(),
        value: "3".into(),
        ..RecordRequest::default()
    };
    let why = engine.record(&request).unwrap_err().to_string();
    assert!(why.contains("there is no catalogue at") && why.contains("gone"), "{why}");
    assert!(!gone.exists());
    refused(&at(&bench, &moved, &["products"]), "there is no catalogue at");
    assert!(!gone.exists());
}

/// What was done last is what was done last, whatever the clock said then.
#[test]
fn a_clock_that_goes_backwards_does_not_turn_the_history_around() {
    let bench = Bench::seeded();
    let _ = bench.run(&RECORD).done();
    {
        let mut it = Catalog::open(&bench.catalogue()).unwrap();
        let dictionary = domain::dictionary::Dictionary::standard();
        let key = domain::key::ProductKey::parse(PRODUCT).unwrap();
        let mut dossier = it.reader().dossier(&key, &dictionary).unwrap().unwrap();
        dossier.prices.truncate(1);
        dossier.prices[0].shop = "Invented shop".into();
        // Long before the one above.
        it.record(&dossier, "by a wrong clock", "1999-01-01T00:00:00Z").unwrap();
        it.change_rubric(&RubricChange {
            plugin: None,
            path: "subsystem.cabinet".into(),
            value: Some("30".into()),
            reason: "invented".into(),
            recorded_at: "1999-01-01T00:00:00Z".into(),
        })
        .unwrap();
    }
    let back = bench.run(&["undo", "--json"]).answer();
    assert_eq!(back["reason"], "by a wrong clock", "{back}");
    let history = bench.run(&["history", PRODUCT, "--json"]).answer();
    let numbers: Vec<u64> = history["actions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["number"].as_u64().unwrap())
        .collect();
    assert!(numbers.is_sorted_by(|a, b| a > b), "{numbers:?}");
    assert_eq!(history["actions"][1]["at"], "1999-01-01T00:00:00Z");
    // The copy of this morning is older than what came since, and a restore says so.
    let copies = bench.run(&["backup", "--list", "--json"]).answer();
    let copy = copies["copies"][0]["file"].as_str().unwrap();
    refused(&bench.run(&["restore", copy]), "is older than");
}

#[test]
fn of_many_that_write_at_once_each_is_done() {
    let bench = Bench::seeded();
    let children: Vec<_> = (1..=6)
        .map(|number: u32| {
            let reason = format!("entry {number}");
            let value = format!("1{number}.5 mm");
            let place = ["cabinet.panel_thick.front", "cabinet.panel_thick.back"];
            let place = place[usize::from(number.is_multiple_of(2))];
            bench.start(&["record", PRODUCT, place, &value, "--reason", &reason])
        })
        .collect();
    for child in children {
        let ran = Ran::from(child.wait_with_output().unwrap());
        assert_eq!(ran.status, 0, "{}", ran.err);
    }
    let history = sheet(&bench);
    for number in 1..=6 {
        assert!(history.contains(&format!("entry {number}")), "{number}: {history}");
    }
    for it in catalog::backup::copies(&bench.catalogue()).unwrap() {
        catalog::backup::verify(&it.path).unwrap();
    }
}

#[test]
fn one_that_does_not_stop_writing_is_waited_for_and_then_named() {
    let bench = Bench::seeded();
    let before = sheet(&bench);
    let other = Connection::open(bench.catalogue()).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    refused(
        &bench.run(&RECORD),
        "another program is writing to the catalogue; nothing was changed",
    );
    other.execute_batch("ROLLBACK").unwrap();
    assert_eq!(sheet(&bench), before);
    let _ = bench.run(&RECORD).done();
}

#[test]
fn what_is_no_catalogue_is_refused_and_left_as_it_is() {
    let bench = Bench::seeded();
    let text = bench.path("a.boxworth");
    fs::write(&text, "an invented letter ".repeat(50)).unwrap();
    let other = bench.path("b.boxworth");
    Connection::open(&other).unwrap().execute_batch("CREATE TABLE letter (text)").unwrap();
    // Four gigabytes that take no room.
    let huge = bench.path("c.boxworth");
    File::create(&huge).unwrap().set_len(4 << 30).unwrap();
    for file in [&text, &other, &huge] {
        let size = fs::metadata(file).unwrap().len();
        for arguments in [&RECORD[..], &["doctor"], &["backup"], &["undo"]] {
            refused(&at(&bench, file, arguments), "is not a Boxworth catalogue");
        }
        assert_eq!(fs::metadata(file).unwrap().len(), size);
    }
    let folder = bench.path("d.boxworth");
    fs::create_dir(&folder).unwrap();
    refused(&at(&bench, &folder, &["doctor"]), "d.boxworth");
    for name in ["whole.json", "product.toml"] {
        let file = bench.path(name);
        File::create(&file).unwrap().set_len(4 << 30).unwrap();
        refused(&bench.run(&["import", file.to_str().unwrap()]), "larger than");
    }
    let lines = bench.path("history.jsonl");
    File::create(&lines).unwrap().set_len(4 << 30).unwrap();
    let empty = Bench::empty();
    refused(&empty.run(&["replay", lines.to_str().unwrap()]), "line 1 of the history");
}

/// A hole of four gigabytes behind a sound catalogue is not read, and not copied.
#[test]
fn a_catalogue_with_a_hole_behind_it_is_read_by_its_pages() {
    let bench = Bench::seeded();
    let _ = bench.run(&RECORD).done();
    File::options().write(true).open(bench.catalogue()).unwrap().set_len(4 << 30).unwrap();
    let _ = bench.run(&["record", PRODUCT, BRACES, "4"]).done();
    let made = bench.run(&["backup", "--json"]).answer();
    assert!(made["made"]["kilobytes"].as_u64().unwrap() < 1 << 16, "{made}");
}

#[test]
fn what_acts_by_itself_in_a_file_is_named_and_the_file_left_alone() {
    for (odd, named) in [
        (
            "CREATE TRIGGER helper AFTER INSERT ON finding BEGIN UPDATE info SET value = 'x'; END",
            "the trigger helper",
        ),
        ("CREATE VIEW odd AS SELECT * FROM finding", "the view odd"),
        ("CREATE VIRTUAL TABLE odd USING fts5(text)", "the table odd"),
        (
            "DROP TRIGGER price_stays;
             CREATE TRIGGER price_stays BEFORE DELETE ON price BEGIN DELETE FROM info; END",
            "the trigger price_stays",
        ),
        ("DROP TABLE plugin_fault", "no table plugin_fault"),
    ] {
        let bench = Bench::seeded();
        meddle(&bench.catalogue(), odd);
        let before = fs::read(bench.catalogue()).unwrap();
        for arguments in [&RECORD[..], &["products"], &["doctor"]] {
            refused(&bench.run(arguments), named);
        }
        assert!(fs::read(bench.catalogue()).unwrap() == before, "changed: {odd}");
        // Nor does a copy of it come in.
        let other = Bench::seeded();
        let copy = bench.catalogue();
        refused(&other.run(&["restore", copy.to_str().unwrap(), "--discard-newer"]), named);
    }
    // A table or an index of somebody's own does nothing.
    let bench = Bench::seeded();
    meddle(&bench.catalogue(), "CREATE TABLE mine (a); CREATE INDEX mine_too ON mine (a)");
    let _ = bench.run(&RECORD).done();
}

#[test]
fn damaged_pages_are_not_written_to_and_a_copy_brings_them_back() {
    let bench = Bench::seeded();
    let copy = bench.run(&["backup", "--json"]).answer();
    let copy = copy["made"]["file"].as_str().unwrap();
    let before = sheet(&bench);
    let mut bytes = fs::read(bench.catalogue()).unwrap();
    for byte in &mut bytes[8192..65536] {
        *byte = !*byte;
    }
    fs::write(bench.catalogue(), &bytes).unwrap();
    drop(fs::remove_file(bench.path("shelf.boxworth-wal")));
    refused(&bench.run(&RECORD), "the catalogue is damaged");
    refused(&bench.run(&["import", seed().to_str().unwrap()]), "the catalogue is damaged");
    assert!(fs::read(bench.catalogue()).unwrap() == bytes, "a damaged file was written to");
    for arguments in [&["doctor"][..], &["doctor", "--repair"]] {
        let ran = bench.run(arguments);
        assert!([1, 2].contains(&ran.status), "{}: {}{}", ran.status, ran.out, ran.err);
        assert!((ran.out + &ran.err).contains("restore"), "no way back is named");
        assert!(fs::read(bench.catalogue()).unwrap() == bytes, "changed by {arguments:?}");
    }
    // The list of the copies is there when it is needed.
    assert!(bench.run(&["backup", "--list"]).done().contains("asked"));
    let _ = bench.run(&["restore", copy, "--discard-newer"]).done();
    assert_eq!(sheet(&bench), before);
}

#[test]
fn the_doctor_puts_right_what_needs_no_guess_and_says_what() {
    let bench = Bench::seeded();
    let _ = bench.run(&RECORD).done();
    let before = bench.run(&["band", "200..500"]).done();
    meddle(&bench.catalogue(), "DROP INDEX finding_by_place; DROP TRIGGER finding_stays");
    let photos = bench.path("shelf.boxworth.photos");
    fs::create_dir_all(&photos).unwrap();
    // The hash of nothing (FIPS 180-4), so that the file is a whole photo by its name, and nobody's.
    let nobodys = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855.png";
    fs::write(photos.join(nobodys), "").unwrap();
    let part = bench.path("shelf.boxworth.backups").join("daily.2026-11-29T10-00-00Z.part");
    fs::write(&part, "half").unwrap();

    let ran = bench.run(&["doctor"]);
    assert_eq!(ran.status, 1, "{}", ran.out);
    for words in ["index finding_by_place", "trigger finding_stays", "belongs to no photo"] {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    assert!(photos.join(nobodys).exists() && part.exists(), "looking changed something");

    let report = bench.run(&["doctor", "--repair", "--json"]).answer();
    assert_eq!(report["after"]["healthy"], true, "{report}");
    let kept = report["kept"].as_str().unwrap();
    let lacks: i64 = Connection::open(kept)
        .unwrap()
        .query_row(
            "SELECT count(*) FROM sqlite_schema WHERE name = 'finding_by_place'",
            [],
            |row| row.get(0),
        )
        .unwrap();
    assert_eq!(lacks, 0, "what was kept is not what was there");
    assert!(!photos.join(nobodys).exists() && !part.exists());
    assert_eq!(bench.run(&["doctor"]).status, 0);
    assert_eq!(bench.run(&["band", "200..500"]).done(), before);
    let again = bench.run(&["doctor", "--repair", "--json"]).answer();
    assert_eq!(
        (&again["repaired"], &again["kept"]),
        (&serde_json::json!([]), &serde_json::Value::Null)
    );
}

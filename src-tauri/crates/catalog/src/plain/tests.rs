//! The format as a whole: a good folder, a folder with ten faults, hostile folders, random bytes.

use std::fs;

use domain::{evidence::Evidence, finding::Answer, part::Role, sweep::Point};

use super::*;
use crate::unwatched;

mod hostile;
mod sweep_forms;

const CATALOGUE_FILE: &str =
    "format = 1\ntitle = \"Bench\"\ncurrency = \"USD\"\nbase_month = \"2026-06\"\n";

/// A product file with each table and each form.
pub(super) const GOOD: &str = r#"#:schema ../../product.schema.json
maker = "Alder & Fen"
model = "Heron 5"
kind = "stand-mount"
ways = 2
powered = false
year = 2021
note = "two lines\nof text"

[[price]]
amount = "249.00"
basis = "pair"
date = "2026-05-14"
kind = "street"
seller = "authorised"
shop = "Corner"

[[specimen]]
label = "A"
acquired = "retail"
serial = "0012"

[stated]
date = "2026-05-01"
[stated.whole]
rated_z = "8 ohm"
sens_convention = "2.83 V, 1 m"

[[teardown]]
specimen = "A"
date = "2026-06-02"
[teardown.cabinet]
outer_h = "312 mm"
panel_thick.front = { value = "11/16 in", u = "0.5 mm" }
panel_material = { value = "mdf", evidence = "inspected", note = "fibre at the port" }
brace_count = "1"
brace_pos = "100 mm; 20 cm"
leak_found = "no"
lining_thick = { state = "not inspected" }
[teardown.woofer]
driver_mass = "1 lb 6 oz"
[teardown.woofer2]
qty = "1"
[teardown.wiring]
wire_size = "18 AWG"
[[teardown.element]]
name = "C1"
kind = "capacitor"
nodes = ["in", "a"]
value = "5.6 µF"
loss = "0.03 ohm"
tolerance = "10 %"
construction = "polypropylene"
rating = "250 V"
[[teardown.element]]
name = "T"
kind = "driver"
part = "tweeter"
nodes = ["a", "0"]
[[teardown.sweep]]
part = "whole"
file = "sweeps/alder-fen/heron-5-system.csv"
"#;

const PRODUCT: &str = "products/alder-fen/heron-5.toml";
const SWEEP: &str = "sweeps/alder-fen/heron-5-system.csv";

fn sweep() -> String {
    let rows: String = (1..=20).map(|i| format!("{},6.5\n", 10 * i)).collect();
    format!("f_hz,z_ohm\n{rows}")
}

/// A folder with files.
fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    for (path, text) in files {
        let path = dir.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    dir
}

fn good_folder() -> tempfile::TempDir {
    folder(&[
        ("catalogue.toml", CATALOGUE_FILE),
        (PRODUCT, GOOD),
        (SWEEP, &sweep()),
        ("README.md", "x"),
    ])
}

fn read(paths: &[PathBuf], dictionary: &Dictionary) -> Result<Folder, Vec<Fault>> {
    super::read(paths, dictionary, &mut unwatched).map_err(|why| match why {
        Unread::Faulty(faults) => faults,
        Unread::Stopped => panic!("nobody stopped it"),
    })
}

fn read_dir(dir: &tempfile::TempDir) -> Result<Folder, Vec<String>> {
    shown(read(&[dir.path().to_owned()], &Dictionary::standard()))
}

fn shown(read: Result<Folder, Vec<Fault>>) -> Result<Folder, Vec<String>> {
    read.map_err(|all| all.iter().map(ToString::to_string).collect())
}

#[test]
fn a_good_folder_reads_whole() {
    let found = read_dir(&good_folder()).unwrap();
    let info = found.info.as_ref().unwrap();
    assert_eq!((info.title.as_str(), info.base_month.to_string().as_str()), ("Bench", "2026-06"));
    let [dossier] = &found.dossiers[..] else { panic!("{:?}", found.dossiers) };
    assert_eq!(dossier.product.key.as_str(), "alder-fen/heron-5");
    assert_eq!(dossier.prices[0].money.to_string(), "249.00 USD");
    assert_eq!(dossier.specimens[0].serial, "0012");
    assert!(dossier.stated.iter().all(|it| it.evidence == Evidence::Claimed));
    let [job] = &dossier.jobs[..] else { panic!("{:?}", dossier.jobs) };
    let addresses: Vec<String> = job.findings.iter().map(|it| it.address()).collect();
    assert_eq!(
        addresses,
        [
            "cabinet.outer_h",
            "cabinet.panel_thick.front",
            "cabinet.panel_material",
            "cabinet.brace_count",
            "cabinet.brace_pos",
            "cabinet.lining_thick",
            "cabinet.leak_found",
            "woofer.driver_mass",
            "woofer2.qty",
            "wiring.wire_size",
        ]
    );
    assert!(matches!(job.findings[5].answer, Answer::Gap(_)));
    assert_eq!((job.network.len(), job.sweeps.len()), (2, 1));
    assert_eq!(job.sweeps[0].part.role, Role::Whole);
    assert_eq!(job.sweeps[0].points[1], Point { f_hz: 20.0, z_ohm: 6.5, phase_deg: None });
}

#[test]
fn line_ends_of_another_system_change_nothing() {
    let unix = good_folder();
    let other = folder(&[
        ("catalogue.toml", &CATALOGUE_FILE.replace('\n', "\r\n")),
        (PRODUCT, &format!("\u{feff}{}", GOOD.replace('\n', "\r\n"))),
        (SWEEP, &sweep().replace('\n', "\r\n")),
    ]);
    assert_eq!(read_dir(&unix), read_dir(&other));
}

#[test]
fn ten_faults_give_ten_located_messages() {
    let heron = GOOD
        .replace("ways = 2", "ways = 2\ncolour = \"oak\"")
        .replace("\"249.00\"", "\"1,299\"")
        .replace("outer_h = \"312 mm\"", "outer_h = \"312 mmm\"")
        .replace("\"mdf\"", "\"wood\"")
        .replace("driver_mass", "driver_mas")
        .replace("[\"a\", \"0\"]", "[\"a\", \"a\"]");
    let wren = "maker = \"Alder & Fen\"\nmodel = \"Wren\"\nkind = \"stand-mount\"\nways = \"two\"\n\n\
        [[specimen]]\nlabel = \"A\"\nacquired = \"retail\"\n\n[[teardown]]\nspecimen = \"B\"\ndate = \"2026-02-30\"\n";
    let dir = folder(&[
        ("catalogue.toml", CATALOGUE_FILE),
        (PRODUCT, &heron),
        ("products/alder-fen/wren.toml", &wren.replace("ways = \"two\"", "ways = 1\nyear = 2020")),
        (SWEEP, &sweep().replace("\n50,", "\n40,")),
        ("products/alder-fen/lark.toml", "maker = Alder\n"),
    ]);
    let faults = read(&[dir.path().to_owned()], &Dictionary::standard()).unwrap_err();
    let table: Vec<(&str, Option<u32>, &str, &str, &str)> = faults
        .iter()
        .map(|it| {
            (it.file.as_str(), it.line, it.key.as_str(), it.message.as_str(), it.accepted.as_str())
        })
        .collect();
    let keys = "maker, model, kind, ways, powered, year, note, price, specimen, stated, teardown";
    assert_eq!(
        table,
        [
            (PRODUCT, Some(6), "colour", "unknown key \"colour\"", keys),
            (
                PRODUCT,
                Some(12),
                "price[1].amount",
                "\"1,299\" is not an amount",
                "digits with at most two decimals after a point, above 0 and below 10000000, such as \"249.00\"",
            ),
            (
                PRODUCT,
                Some(34),
                "teardown[1].cabinet.outer_h",
                "cannot read \"312 mmm\": \"mmm\" is not a unit of length",
                "mm, cm, m, µm, mil, in, ft",
            ),
            (
                PRODUCT,
                Some(36),
                "teardown[1].cabinet.panel_material.value",
                "\"wood\" is not a choice here",
                "mdf, particle, ply, moulded, other",
            ),
            (
                PRODUCT,
                Some(42),
                "teardown[1].woofer.driver_mas",
                "woofer has no finding \"driver_mas\"; did you mean \"driver_mass\"?",
                "driver_mass",
            ),
            (
                PRODUCT,
                Some(60),
                "teardown[1].element[2].nodes",
                "both ends of \"T\" are on node \"a\"",
                "two different names, such as [\"in\", \"0\"]",
            ),
            (
                "products/alder-fen/lark.toml",
                Some(1),
                "",
                "no TOML: string values must be quoted",
                "literal string",
            ),
            (
                "products/alder-fen/wren.toml",
                Some(12),
                "teardown[1].specimen",
                "there is no specimen \"B\"",
                "A"
            ),
            (
                "products/alder-fen/wren.toml",
                Some(13),
                "teardown[1].date",
                "\"2026-02-30\" is not a date",
                "YYYY-MM-DD, such as \"2026-06-02\", from 1950 to 2199",
            ),
            (
                SWEEP,
                Some(6),
                "",
                "point 5: 40 Hz does not rise above the point before",
                "at least 20 rows of rising or falling frequency",
            ),
        ]
    );
}

/// What one change to the good product file is refused with.
fn changed(good: &str, bad: &str) -> Vec<String> {
    assert!(GOOD.contains(good), "{good}");
    let dir = good_folder();
    fs::write(dir.path().join(PRODUCT), GOOD.replacen(good, bad, 1)).unwrap();
    read_dir(&dir).unwrap_err()
}

#[test]
fn what_holds_between_tables_is_checked() {
    let teardown = "[[teardown]]\nspecimen = \"A\"\ndate = \"2026-06-02\"\n";
    let specimen = "[[specimen]]\nlabel = \"A\"\nacquired = \"gift\"\n";
    let sweep = "[[teardown.sweep]]\n";
    let path = format!("{PRODUCT}:");
    for (good, bad, messages) in [
        (
            "model = \"Heron 5\"",
            "model = \"Heron 6\"".to_owned(),
            vec![
                "3: model: the product alder-fen/heron-6 does not stand in the file of its name; accepted: products/alder-fen/heron-6.toml",
            ],
        ),
        (
            "model = \"Heron 5\"",
            "model = \"É\"".into(),
            vec![
                "3: model: \"Alder & Fen\" and \"É\" give no product key; accepted: names with at least one letter a-z or digit each",
            ],
        ),
        (
            teardown,
            teardown.repeat(2),
            vec![
                "32: teardown[2]: a second teardown of specimen \"A\" on 2026-06-02; accepted: one teardown of a specimen a day",
            ],
        ),
        (
            "[stated]",
            format!("{specimen}[stated]"),
            vec!["24: specimen[2].label: a second specimen \"A\"; accepted: each label once"],
        ),
        (
            "[teardown.wiring]",
            "[teardown.cables]".into(),
            vec![
                "44: teardown[1].cables: \"cables\" is not a part; accepted: whole, cabinet, woofer, midrange, tweeter, crossover, wiring; drivers may end in 2 to 9",
            ],
        ),
        (
            "[teardown.wiring]\nwire_size = \"18 AWG\"\n",
            "[teardown.woofer3]\n[teardown.cabinet3]\n".into(),
            vec![
                "45: teardown[1].cabinet3: \"cabinet3\" is not a part; accepted: whole, cabinet, woofer, midrange, tweeter, crossover, wiring; drivers may end in 2 to 9",
            ],
        ),
        (
            "date = \"2026-05-01\"\n",
            "date = 2026-05-01\nwoffer = \"x\"\n".into(),
            vec![
                "24: stated.date: a date without quotes stands here, not a text; accepted: YYYY-MM-DD, such as \"2026-06-02\", as text in quotes",
                "25: stated.woffer: unknown key \"woffer\"; did you mean \"woofer\"?; accepted: date, whole, cabinet, woofer, midrange, tweeter, crossover, wiring",
            ],
        ),
        (
            "file = \"sweeps/alder-fen/heron-5-system.csv\"",
            "file = \"sweeps/none.csv\"".into(),
            vec![
                "62: teardown[1].sweep[1].file: \"sweeps/none.csv\" is not there; accepted: a path below the folder, such as \"sweeps/maker/model-system.csv\"",
            ],
        ),
        (
            "file = \"sweeps/alder-fen/heron-5-system.csv\"",
            "file = \"../x.csv\"".into(),
            vec![
                "62: teardown[1].sweep[1].file: \"../x.csv\" leads out of the folder or is not written from it; accepted: a path below the folder, such as \"sweeps/maker/model-system.csv\"",
            ],
        ),
        (
            sweep,
            format!("{sweep}part = \"whole\"\nfile = \"{SWEEP}\"\n{sweep}"),
            vec![
                "64: teardown[1].sweep[2].part: a second sweep of whole in this teardown; accepted: each part once",
                "65: teardown[1].sweep[2].file: \"sweeps/alder-fen/heron-5-system.csv\" is named twice in this product; accepted: each file once",
            ],
        ),
        (
            "part = \"whole\"",
            "part = \"cabinet\"".into(),
            vec![
                "61: teardown[1].sweep[1].part: cabinet has no impedance of its own; accepted: whole, woofer, midrange, tweeter; drivers may end in 2 to 9",
            ],
        ),
    ] {
        let wanted: Vec<String> = messages.iter().map(|it| format!("{path}{it}")).collect();
        assert_eq!(changed(good, &bad), wanted, "{bad}");
    }
}

#[test]
fn a_folder_of_another_kind_is_refused_at_once() {
    let missing = folder(&[("products/README.md", ""), ("products/x/y.toml", "a = 1")]);
    assert_eq!(
        read_dir(&missing).unwrap_err(),
        [
            "catalogue.toml: \"catalogue.toml\" is not there; accepted: a folder with catalogue.toml and products/<maker>/<model>.toml, or single product files"
        ]
    );
    let newer = folder(&[("catalogue.toml", "format = 2\n"), ("products/x/y.toml", "a = 1")]);
    assert_eq!(read_dir(&newer).unwrap_err().len(), 1);
}

#[test]
fn a_faulty_catalogue_file_is_not_held_against_the_products() {
    let dir = good_folder();
    fs::write(dir.path().join("catalogue.toml"), CATALOGUE_FILE.replace("USD", "XYZ")).unwrap();
    assert_eq!(
        read_dir(&dir).unwrap_err(),
        ["catalogue.toml:3: currency: \"XYZ\" is not a currency; accepted: USD, EUR, GBP"]
    );
}

#[test]
fn files_that_are_no_text_are_named() {
    let dir = good_folder();
    fs::write(dir.path().join(PRODUCT), b"maker = \"A\"\nmodel = \"\xff\"\n").unwrap();
    assert_eq!(
        read_dir(&dir).unwrap_err(),
        [format!("{PRODUCT}:2: the text is not UTF-8; accepted: text in UTF-8")]
    );
    fs::write(dir.path().join(PRODUCT), GOOD).unwrap();
    fs::write(dir.path().join(SWEEP), vec![b'#'; (1 << 20) + 1]).unwrap();
    assert_eq!(
        read_dir(&dir).unwrap_err(),
        [format!("{SWEEP}: the file is larger than 1 MiB; accepted: at most 1 MiB")]
    );
}

#[test]
fn single_files_read_from_the_catalogue_they_stand_in() {
    let dir = good_folder();
    let whole = read_dir(&dir).unwrap();
    let alone = read(&[dir.path().join(PRODUCT)], &Dictionary::standard()).unwrap();
    assert_eq!((alone.info, &alone.dossiers), (None, &whole.dossiers));
    let misplaced = dir.path().join("heron.toml");
    fs::copy(dir.path().join(PRODUCT), &misplaced).unwrap();
    assert_eq!(
        shown(read(&[dir.path().join(PRODUCT), misplaced], &Dictionary::standard())).unwrap_err(),
        [
            "heron.toml:3: model: the product alder-fen/heron-5 does not stand in the file of its name; accepted: products/alder-fen/heron-5.toml",
            "heron.toml:3: model: the product alder-fen/heron-5 stands in products/alder-fen/heron-5.toml too; accepted: each product in one file",
        ]
    );
}

#[test]
fn a_lone_file_needs_its_own_currency_and_no_special_name() {
    let dir = folder(&[("any.toml", GOOD), (SWEEP, &sweep())]);
    let path = dir.path().join("any.toml");
    assert_eq!(
        shown(read(std::slice::from_ref(&path), &Dictionary::standard())).unwrap_err(),
        ["any.toml:10: price[1].currency: the key is missing; accepted: USD, EUR, GBP"]
    );
    fs::write(&path, GOOD.replace("basis", "currency = \"EUR\"\nbasis")).unwrap();
    assert_eq!(
        read(&[path], &Dictionary::standard()).unwrap().dossiers[0].prices[0].money.to_string(),
        "249.00 EUR"
    );
}

#[test]
fn paths_that_cannot_be_read_are_named() {
    let dir = folder(&[("a/x", "")]);
    let missing = dir.path().join("none.toml");
    let faults =
        shown(read(&[missing, dir.path().join("a")], &Dictionary::standard())).unwrap_err();
    assert_eq!(faults.len(), 2);
    assert!(
        faults[0].ends_with(
            "/a: is a folder beside other paths; accepted: one folder alone, or product files"
        ),
        "{faults:?}"
    );
    assert_eq!(faults[1], "none.toml: \"none.toml\" is not there; accepted: a product file");
    assert_eq!(shown(read(&[], &Dictionary::standard())).unwrap_err().len(), 1);
}

#[test]
fn what_is_read_is_told_file_by_file_and_may_be_ended() {
    let two = GOOD.replace("Heron 5", "Heron 6");
    let dir = folder(&[
        ("catalogue.toml", CATALOGUE_FILE),
        (PRODUCT, GOOD),
        ("products/alder-fen/heron-6.toml", &two),
        (SWEEP, &sweep()),
    ]);
    let read_until = |last: usize| {
        let mut seen = Vec::new();
        let paths = [dir.path().to_owned()];
        let read = super::read(&paths, &Dictionary::standard(), &mut |(done, of)| {
            seen.push((done, of));
            if done == last { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        (seen, read.map(|it| it.dossiers.len()))
    };
    assert_eq!(read_until(2), (vec![(0, 2), (1, 2)], Ok(2)));
    assert_eq!(read_until(1), (vec![(0, 2), (1, 2)], Err(Unread::Stopped)));
}

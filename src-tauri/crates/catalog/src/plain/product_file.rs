//! One product file.

use std::collections::HashSet;

use domain::{
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    finding::Finding,
    key::ProductKey,
    part::{Part, Role},
    product::{Acquired, Product, ProductKind, Specimen, Teardown},
    text::shortened,
};
use toml::de::DeValue;

use super::{
    cursor::{Report, Table},
    fault::Refusal,
    finding_table::{self, Origin},
    folder::Base,
    network_table,
    price_table::{self, Usual},
    sweep_file,
};

const KEYS: &[&str] = &[
    "maker", "model", "kind", "ways", "powered", "year", "note", "price", "specimen", "stated",
    "teardown",
];

/// The keys of a teardown that are no parts.
const JOB_KEYS: &[&str] = &["specimen", "date", "note", "element", "sweep"];

/// What a product file is read with.
#[derive(Debug)]
pub(super) struct Surroundings<'a> {
    /// The folder that sweeps are named from.
    pub(super) base: &'a Base,
    /// The currency of prices that name none.
    pub(super) currency: Usual,
    /// Whether the file stands in a catalogue, where its path must be the product key.
    pub(super) is_in_catalogue: bool,
    /// Which findings there are.
    pub(super) dictionary: &'a Dictionary,
}

/// A product and the byte of its file that names it.
pub(super) struct Found {
    pub(super) dossier: Dossier,
    pub(super) at: usize,
}

/// Reads the document. Faults are in the report; a dossier comes out only where nothing essential is missing.
pub(super) fn read(
    report: &mut Report<'_>,
    table: &Table<'_>,
    around: &Surroundings<'_>,
) -> Option<Found> {
    table.only(report, KEYS);
    let product = product(report, table, around);
    let ways = product.as_ref().map(|it| it.ways);
    let prices = price_table::prices(report, table, around.currency);
    let mut labels = HashSet::new();
    let specimens = specimens(report, table, &mut labels);
    let stated = stated(report, table, around.dictionary);
    let jobs = jobs(report, table, &labels, ways, around);
    Some(Found {
        dossier: Dossier { product: product?, prices, specimens, stated, jobs },
        at: table.get("model").map_or(0, |it| it.at),
    })
}

fn product(
    report: &mut Report<'_>,
    table: &Table<'_>,
    around: &Surroundings<'_>,
) -> Option<Product> {
    let maker = table.need_name(report, "maker");
    let model = table.need_name(report, "model");
    let kind = table.need_word(report, "kind", ProductKind::parse);
    let ways = table
        .need(report, "ways", "a whole number from 1 to 4")
        .and_then(|it| it.whole(report, 1, 4));
    let powered = table.get("powered").map_or(Some(false), |it| it.flag(report));
    let year = table
        .need(report, "year", "a whole number, such as 2021")
        .and_then(|it| it.whole(report, 1950, 2199));
    let note = table.note(report);
    let (maker, model) = (maker?, model?);
    let key = key(report, table, &maker, &model, around.is_in_catalogue);
    Some(Product {
        key: key?,
        maker,
        model,
        kind: kind?,
        ways: u8::try_from(ways?).ok()?,
        powered: powered?,
        year: i16::try_from(year?).ok()?,
        note: note?,
    })
}

/// The product key, held against the path of the file.
fn key(
    report: &mut Report<'_>,
    table: &Table<'_>,
    maker: &str,
    model: &str,
    check_path: bool,
) -> Option<ProductKey> {
    let at = table.get("model").map_or(0, |it| it.at);
    match ProductKey::from_names(maker, model) {
        Ok(key) => {
            let path = format!("products/{key}.toml");
            if check_path && report.file != path {
                let message = format!("the product {key} does not stand in the file of its name");
                report.fault(at, "model", Refusal::new(message, path));
            }
            Some(key)
        }
        Err(_) => {
            let message = format!("{maker:?} and {model:?} give no product key");
            report.fault(
                at,
                "model",
                Refusal::new(message, "names with at least one letter a-z or digit each"),
            );
            None
        }
    }
}

/// The specimens. `labels` gets those of faulty ones too, so that a teardown is not blamed for what is wrong here.
fn specimens(
    report: &mut Report<'_>,
    table: &Table<'_>,
    labels: &mut HashSet<String>,
) -> Vec<Specimen> {
    let mut specimens = Vec::new();
    for it in table.tables(report, "specimen") {
        it.only(report, &["label", "acquired", "serial"]);
        let label = it.need_name(report, "label");
        let acquired = it.need_word(report, "acquired", Acquired::parse);
        let serial = it.name_or_empty(report, "serial");
        let Some(label) = label else { continue };
        if !labels.insert(label.clone()) {
            let at = it.get("label").map_or(it.at, |it| it.at);
            let why = Refusal::new(format!("a second specimen {label:?}"), "each label once");
            report.fault(at, &format!("{}.label", it.path), why);
        }
        if let (Some(acquired), Some(serial)) = (acquired, serial) {
            specimens.push(Specimen { label, acquired, serial });
        }
    }
    specimens
}

fn stated(report: &mut Report<'_>, product: &Table<'_>, dictionary: &Dictionary) -> Vec<Finding> {
    let Some(table) = product.get("stated").and_then(|it| it.table(report)) else {
        return Vec::new();
    };
    let origin = Origin { date: table.need_day(report), is_stated: true, dictionary };
    parts(report, &table, &["date"], origin)
}

/// The findings of all part tables, by part.
fn parts(
    report: &mut Report<'_>,
    table: &Table<'_>,
    other: &[&str],
    origin: Origin<'_>,
) -> Vec<Finding> {
    let mut known = other.to_vec();
    known.extend(Role::ALL.iter().map(|it| it.word()));
    let mut findings = Vec::new();
    for field in table.fields().filter(|it| !other.contains(&it.key)) {
        match (field.key.parse::<Part>(), field.value) {
            (Ok(part), _) => {
                if let Some(it) = field.table(report) {
                    findings.extend(finding_table::findings(report, &it, part, origin));
                }
            }
            (Err(why), DeValue::Table(_)) => report.fault(field.at, &field.path, why),
            (Err(_), _) => field.unknown(report, &known),
        }
    }
    // Within a part the order of the dictionary stays.
    findings.sort_by_key(|it| it.part);
    findings
}

fn jobs(
    report: &mut Report<'_>,
    product: &Table<'_>,
    labels: &HashSet<String>,
    ways: Option<u8>,
    around: &Surroundings<'_>,
) -> Vec<Job> {
    let mut shown: Vec<&str> = labels.iter().map(String::as_str).collect();
    shown.sort_unstable();
    let accepted =
        if shown.is_empty() { "a [[specimen]] with this label".into() } else { shown.join(", ") };
    let accepted = shortened(&accepted, 200);
    let mut seen = HashSet::new();
    let mut files = HashSet::new();
    let mut jobs = Vec::new();
    for table in product.tables(report, "teardown") {
        let specimen = table.need(report, "specimen", &accepted).and_then(|it| {
            it.read(report, &accepted, |text| match labels.get(text) {
                Some(label) => Ok(label.clone()),
                None => {
                    Err(Refusal::new(format!("there is no specimen {text:?}"), accepted.as_str()))
                }
            })
        });
        let date = table.need_day(report);
        let note = table.note(report);
        let origin = Origin { date, is_stated: false, dictionary: around.dictionary };
        let findings = parts(report, &table, JOB_KEYS, origin);
        let network = network_table::network(report, &table, ways);
        let sweeps = sweep_file::sweeps(report, &table, around.base, &mut files);
        let (Some(specimen), Some(date), Some(note)) = (specimen, date, note) else { continue };
        if !seen.insert((specimen.clone(), date)) {
            let message = format!("a second teardown of specimen {specimen:?} on {date}");
            report.fault(
                table.at,
                &table.path,
                Refusal::new(message, "one teardown of a specimen a day"),
            );
        }
        jobs.push(Job { teardown: Teardown { specimen, date, note }, findings, network, sweeps });
    }
    jobs.sort_by(|a, b| {
        (a.teardown.date, &a.teardown.specimen).cmp(&(b.teardown.date, &b.teardown.specimen))
    });
    jobs
}

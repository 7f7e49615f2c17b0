//! The parts list of a crossover as it is typed: checked cell by cell, solved or refused, recorded and drawn.

use catalog::Whole;
use domain::{
    dictionary::{
        Kind,
        element::{self, ElementEntry},
    },
    dossier::Dossier,
    network::{self, BadNetwork, Element, ElementKind, cell},
    reading,
    text::{self, BadText},
    unit::Dimension,
};
use serde::Deserialize;

use crate::{
    Engine, Error, clock,
    dto::{NetworkReport, PartCell, PartFault, PartKind, PartRow, Remark},
    job::{self, At},
    record::significant,
    schematic::schematic,
};

/// Which parts list, and what it shall be.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct NetworkRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// The label of the specimen; without it that of the newest teardown.
    pub specimen: Option<String>,
    /// The day of the teardown, `YYYY-MM-DD`; without it that of the newest one.
    pub date: Option<String>,
    /// How a new specimen was come by.
    pub acquired: Option<String>,
    /// The whole list; null to ask for what is recorded, empty to empty the place.
    pub parts: Option<Vec<PartRow>>,
    /// Why; kept with the change.
    pub reason: String,
}

impl Engine {
    /// The parts list of a teardown, as recorded or, where rows are sent, as they are; sent rows are recorded if they can be
    /// read and solved, and come back with what is wrong with them if not.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], [`Error::Request`] for a teardown that is not understood, or when the catalogue cannot be
    /// read or written.
    pub fn network(&self, request: &NetworkRequest) -> Result<NetworkReport, Error> {
        let (_, dossier) = self.known_product(&request.product)?;
        let at = At {
            product: &request.product,
            specimen: request.specimen.as_deref(),
            date: request.date.as_deref(),
            acquired: request.acquired.as_deref(),
        };
        let (teardown, specimen) = self.teardown(&at, &dossier)?;
        let recorded = job::job(&dossier, &teardown.specimen, teardown.date)
            .map(|it| &it.network[..])
            .unwrap_or_default();
        let mut report = NetworkReport {
            product: dossier.product.key.to_string(),
            specimen: teardown.specimen.clone(),
            date: teardown.date.to_string(),
            parts: Vec::new(),
            faults: Vec::new(),
            recorded: true,
            changed: false,
            schematic: None,
            remarks: Vec::new(),
            kinds: kinds(&dossier),
        };
        let Some(rows) = &request.parts else {
            report.parts = recorded.iter().map(row).collect();
            report.schematic = schematic(recorded);
            report.remarks = remarks(recorded);
            return Ok(report);
        };
        let (elements, faults) = read(rows, dossier.product.ways);
        report.parts.clone_from(rows);
        report.schematic = schematic(&elements);
        report.remarks = remarks(&elements);
        if !faults.is_empty() {
            report.faults = faults;
            report.recorded = false;
            return Ok(report);
        }
        let reason = request.reason.trim();
        let mut catalog = self.writer()?;
        report.changed = if elements.is_empty() {
            let place = (&teardown.specimen[..], teardown.date);
            let key = &dossier.product.key;
            catalog.withdraw_whole(key, place, Whole::Network, reason, &clock::now())?
        } else {
            let mut only = job::only(&dossier, Some((teardown, specimen)));
            for job in &mut only.jobs {
                job.network.clone_from(&elements);
            }
            let tally = catalog.record(&only, reason, &clock::now())?;
            tally.added + tally.corrected > 0
        };
        Ok(report)
    }

    /// As [`Engine::network`], with what is wrong as a refusal.
    ///
    /// # Errors
    /// Also [`Error::Parts`].
    pub fn record_network(&self, request: &NetworkRequest) -> Result<NetworkReport, Error> {
        let report = self.network(request)?;
        if report.faults.is_empty() {
            return Ok(report);
        }
        let names = report.parts.iter().map(|it| it.name.clone()).collect();
        Err(Error::Parts { names, faults: report.faults })
    }
}

impl PartRow {
    /// The text of a cell.
    fn cell(&self, key: &str) -> &str {
        match key {
            "name" => &self.name,
            "kind" => &self.kind,
            "from" => &self.from,
            "to" => &self.to,
            "value" => &self.value,
            "loss" => &self.loss,
            "tolerance" => &self.tolerance,
            "construction" => &self.construction,
            "rating" => &self.rating,
            _ => &self.note,
        }
    }

    /// Puts a text into a cell; false where there is none of that name.
    pub fn set(&mut self, key: &str, text: &str) -> bool {
        let cell = match key {
            "name" => &mut self.name,
            "kind" => &mut self.kind,
            "from" => &mut self.from,
            "to" => &mut self.to,
            "value" => &mut self.value,
            "loss" => &mut self.loss,
            "tolerance" => &mut self.tolerance,
            "construction" => &mut self.construction,
            "rating" => &mut self.rating,
            "note" => &mut self.note,
            _ => return false,
        };
        text.clone_into(cell);
        true
    }

    /// The names of the cells, in the order in which they are written.
    pub const CELLS: [&'static str; 10] = [
        "name",
        "kind",
        "from",
        "to",
        "value",
        "loss",
        "tolerance",
        "construction",
        "rating",
        "note",
    ];
}

/// The elements that can be read, and all that is wrong with the list.
fn read(rows: &[PartRow], ways: u8) -> (Vec<Element>, Vec<PartFault>) {
    let mut faults = Vec::new();
    let mut elements = Vec::new();
    let mut places = Vec::new();
    for (place, row) in rows.iter().enumerate() {
        let mut cells = Cells { place, row, faults: &mut faults };
        if let Some(it) = cells.element(ways) {
            elements.push(it);
            places.push(place);
        }
    }
    // With a row that cannot be read, the whole is not known: what seems missing may be on that one.
    let bad =
        if faults.is_empty() { network::check(&elements) } else { network::check_each(&elements) };
    faults.extend(bad.into_iter().map(|it| unsolvable(it, &places)));
    faults.sort_by_key(|it| it.row.unwrap_or(u32::MAX));
    (elements, faults)
}

fn unsolvable(it: BadNetwork, places: &[usize]) -> PartFault {
    let place = it.place.and_then(|place| places.get(place).copied());
    PartFault {
        row: place.and_then(|it| u32::try_from(it).ok()),
        // Both ends are meant; the second is the one that was typed last.
        cell: if it.key == "nodes" { "to" } else { it.key }.into(),
        message: it.message,
        accepted: it.accepted,
    }
}

/// The cells of one row while they are read.
struct Cells<'a> {
    place: usize,
    row: &'a PartRow,
    faults: &'a mut Vec<PartFault>,
}

impl Cells<'_> {
    fn refuse(&mut self, cell: &str, why: BadText) {
        self.faults.push(PartFault {
            row: u32::try_from(self.place).ok(),
            cell: cell.into(),
            message: why.message,
            accepted: why.accepted,
        });
    }

    fn take<T>(&mut self, cell: &str, read: impl FnOnce(&str) -> Result<T, BadText>) -> Option<T> {
        read(self.row.cell(cell).trim()).map_err(|why| self.refuse(cell, why)).ok()
    }

    /// The text as typed and its value, where there is one.
    fn quantity(&mut self, kind: ElementKind, key: &str) -> Option<Option<(String, f64)>> {
        if self.row.cell(key).trim().is_empty() {
            return Some(None);
        }
        self.take(key, |typed| Ok(Some((typed.to_owned(), cell::quantity(kind, key, typed)?))))
    }

    fn element(&mut self, ways: u8) -> Option<Element> {
        let name = self.take("name", text::name);
        let kind = self.take("kind", |typed| {
            ElementKind::parse(typed)
                .map_err(|why| BadText::new(format!("{typed:?} is no kind of part"), why.accepted))
        });
        let from = self.take("from", text::name);
        let to = self.take("to", text::name);
        let note = self.take("note", text::note);
        let kind = kind?;
        let (value, part) = if kind == ElementKind::Driver {
            (Some(None), self.take("value", |typed| cell::driver(Some(ways), typed)).map(Some))
        } else {
            let value = self.take("value", |typed| {
                Ok(Some((typed.to_owned(), cell::quantity(kind, "value", typed)?)))
            });
            (value, Some(None))
        };
        let loss = self.quantity(kind, "loss");
        let tolerance = self.quantity(kind, "tolerance");
        let rating = self.quantity(kind, "rating");
        let construction = if self.row.construction.trim().is_empty() {
            Some(String::new())
        } else {
            self.take("construction", |typed| cell::construction(kind, typed))
        };
        let (typed, value_si) = value?.unzip();
        let (loss_typed, loss_ohm) = loss?.unzip();
        let (rating_typed, rating_si) = rating?.unzip();
        Some(Element {
            name: name?,
            kind,
            from: from?,
            to: to?,
            typed: typed.unwrap_or_default(),
            value_si,
            loss_typed: loss_typed.unwrap_or_default(),
            loss_ohm,
            tolerance: tolerance?.map(|it| it.1),
            construction: construction?,
            rating_typed: rating_typed.unwrap_or_default(),
            rating_si,
            part: part?,
            note: note?,
        })
    }
}

/// An element as a row.
fn row(it: &Element) -> PartRow {
    let percent = |it: f64| reading::in_unit(it, Dimension::Fraction, "%");
    PartRow {
        name: it.name.clone(),
        kind: it.kind.word().into(),
        from: it.from.clone(),
        to: it.to.clone(),
        value: it.part.map_or_else(|| it.typed.clone(), |part| part.to_string()),
        loss: it.loss_typed.clone(),
        tolerance: it
            .tolerance
            .and_then(percent)
            .map(|it| format!("{} %", significant(it)))
            .unwrap_or_default(),
        construction: it.construction.clone(),
        rating: it.rating_typed.clone(),
        note: it.note.clone(),
    }
}

fn remarks(elements: &[Element]) -> Vec<Remark> {
    let unusual = elements.iter().filter_map(Element::unusual);
    unusual
        .map(|text| Remark {
            source: "boxworth".into(),
            code: "unusual".into(),
            severity: "caution".into(),
            text,
        })
        .collect()
}

/// What each kind of part takes, for the heads and lists of a form.
fn kinds(dossier: &Dossier) -> Vec<PartKind> {
    let roles = cell::driver_roles(Some(dossier.product.ways));
    ElementKind::ALL
        .iter()
        .map(|kind| {
            let cells = element::entries().filter(|it| it.kinds.contains(kind)).flat_map(|it| {
                let plain = |cell: &str, label: &str, accepted: String| PartCell {
                    cell: cell.into(),
                    label: label.into(),
                    accepted,
                    words: words(it),
                    needed: matches!(it.key, "name" | "kind" | "nodes" | "value" | "part"),
                    why: it.why.into(),
                };
                match it.key {
                    "name" => vec![plain("name", "part", text::NAME.into())],
                    "nodes" => vec![
                        plain("from", "from node", text::NAME.into()),
                        plain("to", "to node", text::NAME.into()),
                    ],
                    "part" => vec![PartCell {
                        words: roles.iter().map(|it| it.word().to_owned()).collect(),
                        ..plain(
                            "value",
                            "driver",
                            cell::accepted_drivers(Some(dossier.product.ways)),
                        )
                    }],
                    key => vec![plain(key, it.label, it.kind.accepted())],
                }
            });
            PartKind { kind: kind.word().into(), cells: cells.collect() }
        })
        .collect()
}

fn words(it: &ElementEntry) -> Vec<String> {
    match it.kind {
        Kind::Choice(choices) => choices.iter().map(str::to_owned).collect(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(lines: &[[&str; 5]]) -> Vec<PartRow> {
        lines
            .iter()
            .map(|[name, kind, from, to, value]| PartRow {
                name: (*name).into(),
                kind: (*kind).into(),
                from: (*from).into(),
                to: (*to).into(),
                value: (*value).into(),
                ..PartRow::default()
            })
            .collect()
    }

    fn refused(rows: &[PartRow]) -> Vec<String> {
        let shown = |it: &PartFault| {
            format!("{:?}.{}: {}", it.row.map(i64::from).unwrap_or(-1), it.cell, it.message)
        };
        read(rows, 2).1.iter().map(shown).collect()
    }

    #[test]
    fn a_list_reads_and_comes_back_as_typed() {
        let mut list =
            rows(&[["C1", "capacitor", "in", "a", "5.6 µF"], ["T", "driver", "0", "a", "tweeter"]]);
        list[0].loss = "0.03 ohm".into();
        list[0].tolerance = "10 %".into();
        list[0].construction = "polyester".into();
        list[0].rating = "50 V".into();
        list[0].note = "two in series".into();
        let (elements, faults) = read(&list, 2);
        assert_eq!(faults, []);
        assert_eq!(elements.iter().map(row).collect::<Vec<_>>(), list);
    }

    #[test]
    fn each_fault_names_its_row_and_cell() {
        let mut list = rows(&[
            ["C1", "capacitor", "in", "a", "5.6 mH"],
            ["", "coil", "in", "", "1 mH"],
            ["T", "driver", "a", "a", "midrange"],
            ["R1", "resistor", "a", "a", "1 ohm"],
        ]);
        list[3].loss = "1 ohm".into();
        assert_eq!(
            refused(&list),
            [
                "0.value: cannot read \"5.6 mH\": \"mH\" is not a unit of capacitance",
                "1.name: \"\" is empty",
                "1.kind: \"coil\" is no kind of part",
                "1.to: \"\" is empty",
                "2.value: a product of 2 ways has no midrange",
                "3.loss: a resistor has no loss",
            ]
        );
    }

    #[test]
    fn what_cannot_be_solved_names_the_part() {
        let list = rows(&[
            ["C1", "capacitor", "in", "a", "5.6 µF"],
            ["T", "driver", "in", "0", "tweeter"],
        ]);
        assert_eq!(
            refused(&list),
            ["0.to: \"C1\" carries no current: nothing else is on its node \"a\""]
        );
        assert_eq!(
            refused(&list[..1]),
            ["-1.: no element is on the return"],
            "the whole has no row"
        );
    }

    #[test]
    fn every_cell_can_be_set_and_read() {
        let mut row = PartRow::default();
        for key in PartRow::CELLS {
            assert!(row.set(key, key), "{key}");
        }
        for key in PartRow::CELLS {
            assert_eq!(row.cell(key), key);
        }
        assert!(!row.set("nodes", ""));
    }
}

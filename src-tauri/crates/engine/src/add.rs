//! New products, specimens and teardowns.
//!
//! They are what facts hang on and no facts themselves: the journal keeps what was found, so undo does not touch them. One in
//! which nothing was ever recorded counts nowhere.

use domain::{
    Date,
    dossier::{Dossier, Job},
    key::ProductKey,
    product::{Acquired, Product, ProductKind, Specimen, Teardown},
};
use serde::Deserialize;

use crate::{
    Engine, Error, clock,
    dto::{AddReport, Remark},
};

/// A new product.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct AddProductRequest {
    /// The maker's name as printed.
    pub maker: String,
    /// The model's name as printed.
    pub model: String,
    /// `stand-mount` or `floor-standing`.
    pub kind: String,
    /// The number of ways, 1 to 4.
    pub ways: u32,
    /// Whether it has an amplifier of its own.
    pub powered: bool,
    /// The year it came out.
    pub year: i32,
    /// A remark, or empty.
    pub note: String,
}

/// A new specimen of a product.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct AddSpecimenRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// Your own label for it, such as `A`.
    pub label: String,
    /// How it was come by: `retail`, `lent`, `gift`, `second hand`.
    pub acquired: String,
    /// The serial number, or empty.
    pub serial: String,
}

/// A new teardown of a specimen.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct AddTeardownRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// The specimen's label.
    pub specimen: String,
    /// The day, `YYYY-MM-DD`; without it today.
    pub date: Option<String>,
    /// A remark, or empty.
    pub note: String,
}

/// The longest name or label, in characters.
const LONGEST_NAME: usize = 80;

impl Engine {
    /// Puts a new product on the shelf.
    ///
    /// # Errors
    /// [`Error::Request`] with the place and the accepted form, also where the product is there already; nothing is changed
    /// then. When the catalogue cannot be written.
    pub fn add_product(&self, request: &AddProductRequest) -> Result<AddReport, Error> {
        let maker = name("maker", &request.maker)?;
        let model = name("model", &request.model)?;
        let key = ProductKey::from_names(&maker, &model).map_err(|why| {
            let accepted = "names with a letter or digit from A to Z or 0 to 9 in each";
            Error::request("model", &why.text, "gives no key", accepted)
        })?;
        let kind = ProductKind::parse(&request.kind).map_err(|why| {
            Error::request("kind", &request.kind, "is no kind of product", why.accepted)
        })?;
        let ways = u8::try_from(request.ways).ok().filter(|it| (1..=4).contains(it));
        let ways = ways.ok_or_else(|| {
            Error::request("ways", &request.ways.to_string(), "is no number of ways", "1, 2, 3, 4")
        })?;
        let last = i32::from(self.today().year()) + 1;
        let year = i16::try_from(request.year)
            .ok()
            .filter(|it| *it >= FIRST_YEAR && i32::from(*it) <= last);
        let year = year.ok_or_else(|| {
            let text = request.year.to_string();
            Error::request("year", &text, "is no year", format!("{FIRST_YEAR} to {last}"))
        })?;
        let known = {
            let reader = self.reader();
            let declarations = crate::declared::Declarations::read(&reader)?;
            reader.dossier(&key, &declarations.dictionary)?
        };
        if let Some(it) = known {
            let it = it.product;
            return Err(Error::request(
                "model",
                &format!("{maker} {model}"),
                format!("is on the shelf already, as {} ({} {})", it.key, it.maker, it.model),
                "another name, or findings for the one that is there",
            ));
        }
        let product = Product {
            key: key.clone(),
            maker,
            model,
            kind,
            ways,
            powered: request.powered,
            year,
            note: request.note.trim().to_owned(),
        };
        self.put(&Dossier::of(product))?;
        let mut remarks = Vec::new();
        if request.powered {
            remarks.push(caution(
                "powered",
                "Powered products are listed and never scored. One holds mains and capacitors that stay charged after \
                 unplugging; leave it to qualified people.",
            ));
        }
        Ok(report("product", &key, None, None, remarks))
    }

    /// Adds a specimen to a product.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`]; otherwise as [`Engine::add_product`].
    pub fn add_specimen(&self, request: &AddSpecimenRequest) -> Result<AddReport, Error> {
        let (_, dossier) = self.known_product(&request.product)?;
        let label = name("specimen", &request.label)?;
        let acquired = Acquired::parse(&request.acquired).map_err(|why| {
            Error::request(
                "acquired",
                &request.acquired,
                "is no way to come by a specimen",
                why.accepted,
            )
        })?;
        if dossier.specimens.iter().any(|it| it.label == label) {
            let accepted = "another label; a further teardown of the one that is there needs none";
            return Err(Error::request("specimen", &label, "is there already", accepted));
        }
        let key = dossier.product.key.clone();
        let mut new = Dossier::of(dossier.product);
        let serial = request.serial.trim().to_owned();
        new.specimens.push(Specimen { label: label.clone(), acquired, serial });
        self.put(&new)?;
        let mut remarks = Vec::new();
        if matches!(acquired, Acquired::Lent | Acquired::Gift) {
            remarks.push(caution(
                "acquired",
                "Readers will be told that this specimen was not bought.",
            ));
        }
        Ok(report("specimen", &key, Some(label), None, remarks))
    }

    /// Begins a teardown of a specimen.
    ///
    /// # Errors
    /// As [`Engine::add_specimen`].
    pub fn add_teardown(&self, request: &AddTeardownRequest) -> Result<AddReport, Error> {
        let (_, dossier) = self.known_product(&request.product)?;
        let label = request.specimen.trim();
        let Some(specimen) = dossier.specimens.iter().find(|it| it.label == label).cloned() else {
            let labels: Vec<&str> = dossier.specimens.iter().map(|it| it.label.as_str()).collect();
            let accepted = if labels.is_empty() {
                "a specimen that was added before".to_owned()
            } else {
                labels.join(", ")
            };
            return Err(Error::request("specimen", label, "is not known", accepted));
        };
        let today = self.today();
        let date = match request.date.as_deref().map(str::trim).filter(|it| !it.is_empty()) {
            None => today,
            Some(text) => text
                .parse::<Date>()
                .map_err(|_| Error::request("date", text, "is not a day", "YYYY-MM-DD"))?,
        };
        // The bench may be a day ahead of Greenwich.
        if date > today.tomorrow().unwrap_or(today) {
            let accepted = format!("a day up to {today}");
            return Err(Error::request("date", &date.to_string(), "is still to come", accepted));
        }
        let is_it = |it: &Job| it.teardown.specimen == label && it.teardown.date == date;
        if dossier.jobs.iter().any(is_it) {
            let accepted = "another day, or the teardown that is there";
            let why = format!("has a teardown of {label} already");
            return Err(Error::request("date", &date.to_string(), why, accepted));
        }
        let key = dossier.product.key.clone();
        let mut new = Dossier::of(dossier.product);
        new.specimens.push(specimen);
        let note = request.note.trim().to_owned();
        new.jobs.push(Job {
            teardown: Teardown { specimen: label.to_owned(), date, note },
            findings: Vec::new(),
            network: Vec::new(),
            sweeps: Vec::new(),
        });
        self.put(&new)?;
        Ok(report("teardown", &key, Some(label.to_owned()), Some(date.to_string()), Vec::new()))
    }

    fn put(&self, new: &Dossier) -> Result<(), Error> {
        self.writer()?.record(new, "", &clock::now())?;
        Ok(())
    }
}

/// Moving coils have been sold since then.
const FIRST_YEAR: i16 = 1925;

fn report(
    added: &str,
    product: &ProductKey,
    specimen: Option<String>,
    date: Option<String>,
    remarks: Vec<Remark>,
) -> AddReport {
    AddReport { added: added.into(), product: product.to_string(), specimen, date, remarks }
}

fn caution(code: &str, text: &str) -> Remark {
    Remark {
        source: "boxworth".into(),
        code: code.into(),
        severity: "caution".into(),
        text: text.into(),
    }
}

fn name(place: &'static str, text: &str) -> Result<String, Error> {
    let text = text.trim();
    let accepted = format!("a name in one line, of 1 to {LONGEST_NAME} characters");
    let length = text.chars().count();
    if length == 0 {
        return Err(Error::request(place, text, "is no name", accepted));
    }
    if length > LONGEST_NAME || text.chars().any(char::is_control) {
        let start: String = text.chars().filter(|it| !it.is_control()).take(40).collect();
        let why = "is too long or holds control characters";
        return Err(Error::request(place, &start, why, &accepted));
    }
    Ok(text.to_owned())
}

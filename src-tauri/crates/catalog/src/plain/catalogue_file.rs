//! The file `catalogue.toml`, which says what the folder is.

use domain::{money::Currency, price::PriceDate};

use super::{
    cursor::{Report, Table},
    fault::{Faults, Refusal},
    folder::{Base, CATALOGUE, Unreadable},
    text::month,
};

/// The number of the format that is read.
pub(super) const FORMAT: i64 = 1;

const KEYS: &[&str] = &["format", "title", "currency", "base_month", "note"];

/// What a catalogue says about itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CatalogueInfo {
    /// Its title.
    pub title: String,
    /// The currency of prices that name none.
    pub currency: Currency,
    /// The month whose money real prices are in; it has no day.
    pub base_month: PriceDate,
    /// A remark, empty where there is none.
    pub note: String,
}

/// What came of reading the file.
#[derive(Debug)]
pub(super) enum Catalogue {
    /// It is good.
    Read(CatalogueInfo),
    /// It has faults, and the folder is of this format.
    Faulty,
    /// It is not there or is of another format: what else the folder holds is not judged.
    Foreign,
}

/// Reads the file.
pub(super) fn read(base: &Base, faults: &mut Faults) -> Catalogue {
    let text = match base.read(CATALOGUE) {
        Ok(it) => it,
        Err(Unreadable::Path(message)) => {
            let accepted = "a folder with catalogue.toml and products/<maker>/<model>.toml, or single product files";
            faults.add(CATALOGUE, None, "", Refusal::new(message, accepted));
            return Catalogue::Foreign;
        }
        Err(Unreadable::Content { line, why }) => {
            faults.add(CATALOGUE, line, "", why);
            return Catalogue::Faulty;
        }
    };
    let mut report = Report::new(CATALOGUE, &text, faults);
    let Some(entries) = report.parse(&text) else { return Catalogue::Faulty };
    let table = Table::document(&entries);
    let mut is_named = false;
    if let Some(format) = table.need(&mut report, "format", "format = 1")
        && let Some(number) = format.whole(&mut report, i64::MIN, i64::MAX)
    {
        if number != FORMAT {
            let message = if number > FORMAT {
                format!("format {number} was made for a newer version of this program")
            } else {
                format!("there is no format {number}")
            };
            report.fault(format.at, &format.path, Refusal::new(message, "format = 1"));
            return Catalogue::Foreign;
        }
        is_named = true;
    }
    match info(&mut report, &table) {
        Some(it) if is_named => Catalogue::Read(it),
        _ => Catalogue::Faulty,
    }
}

fn info(report: &mut Report<'_>, table: &Table<'_>) -> Option<CatalogueInfo> {
    table.only(report, KEYS);
    let title = table.need_name(report, "title");
    let currency = table.need_word(report, "currency", Currency::parse);
    let accepted = "YYYY-MM, such as \"2026-06\"";
    let base_month =
        table.need(report, "base_month", accepted).and_then(|it| it.read(report, accepted, month));
    let note = table.note(report);
    Some(CatalogueInfo { title: title?, currency: currency?, base_month: base_month?, note: note? })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: Option<&str>) -> Result<CatalogueInfo, Vec<String>> {
        let dir = tempfile::tempdir().unwrap();
        if let Some(text) = text {
            std::fs::write(dir.path().join(CATALOGUE), text).unwrap();
        }
        let mut faults = Faults::default();
        let found = read(&Base::new(dir.path()), &mut faults);
        match (faults.finish(), found) {
            (Ok(_), Catalogue::Read(it)) => Ok(it),
            (Ok(_), _) => Err(Vec::new()),
            (Err(all), _) => Err(all.iter().map(ToString::to_string).collect()),
        }
    }

    #[test]
    fn a_good_file_reads() {
        let text = "format = 1\ntitle = 'Bench'\ncurrency = 'USD'\nbase_month = '2026-06'\nnote = '''\nAll\ninvented.'''\n";
        let info = of(Some(text)).unwrap();
        assert_eq!(
            (info.title.as_str(), info.currency, info.note.as_str()),
            ("Bench", Currency::Usd, "All\ninvented.")
        );
        assert_eq!(info.base_month.to_string(), "2026-06");
    }

    #[test]
    fn a_newer_format_is_refused_before_anything_else_is_judged() {
        assert_eq!(
            of(Some("# x\nformat = 2\nunheard_of = 1\n")).unwrap_err(),
            [
                "catalogue.toml:2: format: format 2 was made for a newer version of this program; accepted: format = 1"
            ]
        );
        assert_eq!(
            of(Some("format = 0\n")).unwrap_err(),
            ["catalogue.toml:1: format: there is no format 0; accepted: format = 1"]
        );
    }

    #[test]
    fn what_is_missing_is_said() {
        assert_eq!(
            of(None).unwrap_err(),
            [
                "catalogue.toml: \"catalogue.toml\" is not there; accepted: a folder with catalogue.toml and products/<maker>/<model>.toml, or single product files"
            ]
        );
        assert_eq!(
            of(Some("format = 1\nbase_month = '2026'\ncurency = 'USD'\n")).unwrap_err(),
            [
                "catalogue.toml:1: currency: the key is missing; accepted: USD, EUR, GBP",
                "catalogue.toml:1: title: the key is missing; accepted: a name of 1 to 80 characters on one line",
                "catalogue.toml:2: base_month: \"2026\" is not a month; accepted: YYYY-MM, such as \"2026-06\", from 1950 to 2199",
                "catalogue.toml:3: curency: unknown key \"curency\"; did you mean \"currency\"?; accepted: format, title, currency, base_month, note",
            ]
        );
    }
}

//! Reading dossiers: products with all that currently holds about them.

use std::collections::HashMap;

use domain::{
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    key::ProductKey,
    part::Part,
    product::{Specimen, Teardown},
    sweep::Sweep,
};

use rusqlite::OptionalExtension;

use crate::{
    Error, Reader,
    priced::{damaged, text},
    table::{Columns, Located},
};

/// A row that no later row supersedes and nobody withdrew.
macro_rules! current {
    ($table:literal) => {
        concat!(
            "NOT EXISTS (SELECT 1 FROM ",
            $table,
            " AS later WHERE later.supersedes = ",
            $table,
            ".id) AND NOT EXISTS (SELECT 1 FROM withdrawn WHERE withdrawn.what = '",
            $table,
            "' AND withdrawn.row_id = ",
            $table,
            ".id)"
        )
    };
}

impl Reader {
    /// All products with what currently holds about them, by key. The dictionary says what findings mean; what it does not
    /// know is read all the same, as declared by nobody.
    ///
    /// # Errors
    /// [`Error::Damaged`] naming the row that cannot be read; [`Error::Sql`].
    pub fn dossiers(&self, dictionary: &Dictionary) -> Result<Vec<Dossier>, Error> {
        self.load(&Which::All, dictionary, &FACTS)
    }

    /// The products of some keys, by key, as [`Reader::dossiers`]; a key that no product has is left out.
    ///
    /// # Errors
    /// As [`Reader::dossiers`].
    pub fn dossiers_of<'k>(
        &self,
        keys: impl IntoIterator<Item = &'k ProductKey>,
        dictionary: &Dictionary,
    ) -> Result<Vec<Dossier>, Error> {
        self.load(&Which::some(keys), dictionary, &FACTS)
    }

    /// One product, or `None` when there is none of that key.
    ///
    /// # Errors
    /// As [`Reader::dossiers`].
    pub fn dossier(
        &self,
        key: &ProductKey,
        dictionary: &Dictionary,
    ) -> Result<Option<Dossier>, Error> {
        let id: Option<i64> = self
            .connection
            .query_row("SELECT id FROM product WHERE key = ?1", [key.as_str()], |row| row.get(0))
            .optional()?;
        let Some(id) = id else { return Ok(None) };
        Ok(self.load(&Which::One(id), dictionary, &FACTS)?.pop())
    }

    /// Whether there is a product of a key.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn has_product(&self, key: &ProductKey) -> Result<bool, Error> {
        let mut statement =
            self.connection.prepare_cached("SELECT 1 FROM product WHERE key = ?1")?;
        Ok(statement.exists([key.as_str()])?)
    }

    /// The keys of all products, in their order.
    ///
    /// # Errors
    /// [`Error::Damaged`] naming the row that cannot be read; [`Error::Sql`].
    pub fn keys(&self) -> Result<Vec<ProductKey>, Error> {
        let mut keys = Vec::new();
        self.rows("SELECT key, id FROM product ORDER BY key", [], |row| {
            let id: i64 = row.get(1)?;
            keys.push(ProductKey::parse(text(row, 0)?).map_err(damaged("product", id))?);
            Ok(())
        })?;
        Ok(keys)
    }

    /// The number of products.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn product_count(&self) -> Result<u32, Error> {
        Ok(self.connection.query_row("SELECT count(*) FROM product", [], |row| row.get(0))?)
    }

    /// The number of findings ever recorded and of those that hold now.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn finding_counts(&self) -> Result<(u32, u32), Error> {
        Ok(self.connection.query_row(
            concat!(
                "SELECT count(*), count(*) FILTER (WHERE ",
                current!("finding"),
                ") FROM finding"
            ),
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )?)
    }

    /// The products of some keys, by key, as [`Reader::dossiers_of`], without parts lists and sweeps: what a list of products
    /// rests on.
    ///
    /// # Errors
    /// As [`Reader::dossiers`].
    pub fn outlines<'k>(
        &self,
        keys: impl IntoIterator<Item = &'k ProductKey>,
        dictionary: &Dictionary,
    ) -> Result<Vec<Dossier>, Error> {
        self.load(&Which::some(keys), dictionary, &[FINDINGS, PRICES])
    }

    /// The products of some keys, by key, with their findings at some places alone, and without other facts.
    ///
    /// # Errors
    /// As [`Reader::dossiers`].
    pub fn findings_at<'k>(
        &self,
        keys: impl IntoIterator<Item = &'k ProductKey>,
        places: &[(Part, &str)],
        dictionary: &Dictionary,
    ) -> Result<Vec<Dossier>, Error> {
        let places: Vec<_> =
            places.iter().map(|(part, key)| [part.to_string(), (*key).into()]).collect();
        self.load(&Which::at(keys, AT_PLACES, &places.into()), dictionary, &[FINDINGS])
    }

    /// The same with all findings about a part.
    ///
    /// # Errors
    /// As [`Reader::dossiers`].
    pub fn findings_of<'k>(
        &self,
        keys: impl IntoIterator<Item = &'k ProductKey>,
        part: Part,
        dictionary: &Dictionary,
    ) -> Result<Vec<Dossier>, Error> {
        self.load(
            &Which::at(keys, OF_PARTS, &vec![part.to_string()].into()),
            dictionary,
            &[FINDINGS],
        )
    }

    /// The dossiers of some products with some of their facts.
    fn load(
        &self,
        which: &Which,
        dictionary: &Dictionary,
        facts: &[Rows],
    ) -> Result<Vec<Dossier>, Error> {
        let _moment = self.moment()?;
        let mut dossiers = Vec::new();
        let mut by_product: HashMap<i64, usize> = HashMap::new();
        self.each(PRODUCTS, which, |it| {
            by_product.insert(it.get("id")?, dossiers.len());
            dossiers.push(Dossier {
                product: it.product()?,
                prices: Vec::new(),
                specimens: Vec::new(),
                stated: Vec::new(),
                jobs: Vec::new(),
            });
            Ok(())
        })?;
        let mut place = Places { dossiers: &mut dossiers, by_product, by_teardown: HashMap::new() };
        for rows in JOBS.iter().chain(facts) {
            self.each(*rows, which, |it| place.take(&it, dictionary))?;
        }
        Ok(dossiers)
    }

    fn each(
        &self,
        rows: Rows,
        which: &Which,
        mut take: impl FnMut(Located<'_>) -> Result<(), Error>,
    ) -> Result<(), Error> {
        let mut statement = self.connection.prepare_cached(&rows.sql(which))?;
        let columns = Columns::of(&statement);
        let mut found = match which {
            Which::All => statement.query([])?,
            Which::One(id) => statement.query([id])?,
            Which::Some(keys) => statement.query([keys])?,
            Which::At { keys, places, .. } if rows.table == "finding" => {
                statement.query([keys, places])?
            }
            Which::At { keys, .. } => statement.query([keys])?,
        };
        while let Some(row) = found.next()? {
            take(Located { table: rows.table, columns: &columns, row })?;
        }
        Ok(())
    }
}

/// Whose rows are read.
#[derive(Debug)]
enum Which {
    All,
    /// The product of an id.
    One(i64),
    /// The products of a JSON list of keys: one statement a table, however many they are.
    Some(String),
    /// The same, and of their findings those alone that a condition on a JSON list lets through.
    At {
        keys: String,
        condition: &'static str,
        places: String,
    },
}

/// Conditions on a finding's place, each answered by the index of places.
const AT_PLACES: &str = "(part, key) IN (SELECT value ->> 0, value ->> 1 FROM json_each(?2))";
const OF_PARTS: &str = "part IN (SELECT value FROM json_each(?2))";

impl Which {
    fn some<'k>(keys: impl IntoIterator<Item = &'k ProductKey>) -> Self {
        let keys: Vec<&str> = keys.into_iter().map(ProductKey::as_str).collect();
        Which::Some(serde_json::Value::from(keys).to_string())
    }

    fn at<'k>(
        keys: impl IntoIterator<Item = &'k ProductKey>,
        condition: &'static str,
        places: &serde_json::Value,
    ) -> Self {
        let keys: Vec<&str> = keys.into_iter().map(ProductKey::as_str).collect();
        let keys = serde_json::Value::from(keys).to_string();
        Which::At { keys, condition, places: places.to_string() }
    }
}

/// A statement that reads the rows of a table, of all products or of some.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rows {
    table: &'static str,
    /// `{of}` is where the product is asked for.
    text: &'static str,
    /// The column of the product's id.
    of: &'static str,
}

impl Rows {
    /// A condition that holds for everything would keep SQLite from using an index for one product.
    fn sql(self, which: &Which) -> String {
        let some = || {
            format!(
                "{} IN (SELECT id FROM product WHERE key IN (SELECT value FROM json_each(?1)))",
                self.of
            )
        };
        let of = match which {
            Which::All => "TRUE".to_owned(),
            Which::One(_) => format!("{} = ?1", self.of),
            Which::At { condition, .. } if self.table == "finding" => {
                format!("{} AND {condition}", some())
            }
            Which::Some(_) | Which::At { .. } => some(),
        };
        self.text.replace("{of}", &of)
    }
}

const PRODUCTS: Rows = Rows {
    table: "product",
    text: "SELECT * FROM product WHERE {of} ORDER BY key",
    of: "product.id",
};
const SPECIMENS: Rows = Rows {
    table: "specimen",
    text: "SELECT * FROM specimen WHERE {of} ORDER BY id",
    of: "product_id",
};
const TEARDOWNS: Rows = Rows {
    table: "teardown",
    text: "SELECT teardown.*, specimen.label AS label, product_id FROM teardown
           JOIN specimen ON specimen.id = specimen_id WHERE {of} ORDER BY day, teardown.id",
    of: "specimen.product_id",
};
const FINDINGS: Rows = Rows {
    table: "finding",
    text: concat!(
        "SELECT * FROM finding WHERE {of} AND ",
        current!("finding"),
        " ORDER BY finding.id"
    ),
    of: "finding.product_id",
};
const PRICES: Rows = Rows {
    table: "price",
    text: concat!(
        "SELECT * FROM price WHERE {of} AND ",
        current!("price"),
        " ORDER BY day, price.id"
    ),
    of: "price.product_id",
};
const ELEMENTS: Rows = Rows {
    table: "element",
    text: concat!(
        "SELECT element.*, network.id AS id, network.teardown_id AS teardown_id FROM specimen
         JOIN teardown ON specimen.id = specimen_id JOIN network ON teardown.id = teardown_id
         JOIN element ON network.id = network_id WHERE {of} AND ",
        current!("network"),
        " ORDER BY network.id, position"
    ),
    of: "specimen.product_id",
};
const SWEEPS: Rows = Rows {
    table: "sweep",
    text: concat!(
        "SELECT sweep.* FROM specimen JOIN teardown ON specimen.id = specimen_id
         JOIN sweep ON teardown.id = teardown_id WHERE {of} AND ",
        current!("sweep"),
        " ORDER BY sweep.id"
    ),
    of: "specimen.product_id",
};

const JOBS: [Rows; 2] = [SPECIMENS, TEARDOWNS];
const FACTS: [Rows; 4] = [FINDINGS, PRICES, ELEMENTS, SWEEPS];

/// Where rows belong, by the ids of their owners.
struct Places<'d> {
    dossiers: &'d mut Vec<Dossier>,
    by_product: HashMap<i64, usize>,
    by_teardown: HashMap<i64, (usize, usize)>,
}

impl Places<'_> {
    /// Puts a row where it belongs.
    fn take(&mut self, it: &Located<'_>, dictionary: &Dictionary) -> Result<(), Error> {
        match it.table {
            "specimen" => {
                let specimen = Specimen {
                    label: it.get("label")?,
                    acquired: it.acquired()?,
                    serial: it.get("serial")?,
                };
                self.product(it)?.specimens.push(specimen);
            }
            "teardown" => {
                let teardown = Teardown {
                    specimen: it.get("label")?,
                    date: it.day("day")?,
                    note: it.get("note")?,
                };
                self.add_job(it, teardown)?;
            }
            "finding" => {
                let finding = it.finding(dictionary)?;
                match it.get::<Option<i64>>("teardown_id")? {
                    Some(_) => self.job(it)?.findings.push(finding),
                    None => self.product(it)?.stated.push(finding),
                }
            }
            "price" => {
                let price = it.price()?;
                self.product(it)?.prices.push(price);
            }
            "element" => {
                let element = it.element()?;
                self.job(it)?.network.push(element);
            }
            _ => {
                let sweep = Sweep { part: it.part()?, points: it.points()?, note: it.get("note")? };
                self.job(it)?.sweeps.push(sweep);
            }
        }
        Ok(())
    }

    fn product(&mut self, it: &Located<'_>) -> Result<&mut Dossier, Error> {
        let id: i64 = it.get("product_id")?;
        let at = *self.by_product.get(&id).ok_or_else(|| it.damaged("its product is not there"))?;
        Ok(&mut self.dossiers[at])
    }

    fn add_job(&mut self, it: &Located<'_>, teardown: Teardown) -> Result<(), Error> {
        let id: i64 = it.get("product_id")?;
        let at = *self.by_product.get(&id).ok_or_else(|| it.damaged("its product is not there"))?;
        let jobs = &mut self.dossiers[at].jobs;
        self.by_teardown.insert(it.get("id")?, (at, jobs.len()));
        jobs.push(Job { teardown, findings: Vec::new(), network: Vec::new(), sweeps: Vec::new() });
        Ok(())
    }

    fn job(&mut self, it: &Located<'_>) -> Result<&mut Job, Error> {
        let id: i64 = it.get("teardown_id")?;
        let (at, job) =
            *self.by_teardown.get(&id).ok_or_else(|| it.damaged("its teardown is not there"))?;
        Ok(&mut self.dossiers[at].jobs[job])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Catalog, Info};

    fn plan(reader: &Reader, rows: Rows, which: &Which) -> Vec<String> {
        let sql = format!("EXPLAIN QUERY PLAN {}", rows.sql(which));
        let mut statement = reader.connection.prepare(&sql).unwrap();
        let mut found = statement.raw_query();
        let mut steps = Vec::new();
        while let Some(row) = found.next().unwrap() {
            steps.push(row.get(3).unwrap());
        }
        steps
    }

    /// One product, or some, are found through indices in each table, however many others there are.
    #[test]
    fn some_products_are_read_through_indices() {
        let folder = tempfile::tempdir().unwrap();
        let info = Info {
            title: "t".into(),
            currency: "USD".into(),
            base_month: "2026-06".into(),
            note: String::new(),
        };
        let it = Catalog::create(&folder.path().join("a.boxworth"), &info).unwrap();
        for (rows, index) in [
            (PRODUCTS, "INTEGER PRIMARY KEY"),
            (SPECIMENS, "sqlite_autoindex_specimen_1 (product_id=?)"),
            (TEARDOWNS, "sqlite_autoindex_teardown_1 (specimen_id=?)"),
            (FINDINGS, "finding_by_place (product_id=?)"),
            (PRICES, "price_by_product (product_id=?)"),
            (ELEMENTS, "network_by_teardown (teardown_id=?)"),
            (SWEEPS, "sweep_by_teardown (teardown_id=?)"),
        ] {
            for which in [Which::One(1), Which::Some("[]".into())] {
                let plan = plan(it.reader(), rows, &which);
                assert!(plan.iter().any(|it| it.contains(index)), "{}: {plan:#?}", rows.table);
                let scans = |it: &String| it.starts_with("SCAN") && !it.contains("json_each");
                assert!(!plan.iter().any(scans), "{}: {plan:#?}", rows.table);
            }
        }
        for (condition, index) in [
            (AT_PLACES, "finding_by_place (product_id=? AND part=? AND key=?)"),
            (OF_PARTS, "finding_by_place (product_id=? AND part=?)"),
        ] {
            let which = Which::at([], condition, &serde_json::Value::Null);
            let plan = plan(it.reader(), FINDINGS, &which);
            assert!(plan.iter().any(|it| it.contains(index)), "{plan:#?}");
        }
    }
}

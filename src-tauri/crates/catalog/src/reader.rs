//! Reading dossiers: products with all that currently holds about them.

use std::collections::HashMap;

use domain::{
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    key::ProductKey,
    product::{Specimen, Teardown},
    sweep::Sweep,
};

use crate::{Error, Reader, table::Located};

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
        self.load(None, dictionary)
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
        Ok(self.load(Some(key.as_str()), dictionary)?.pop())
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

    fn load(&self, key: Option<&str>, dictionary: &Dictionary) -> Result<Vec<Dossier>, Error> {
        let mut dossiers = Vec::new();
        let mut by_product: HashMap<i64, usize> = HashMap::new();
        self.each(
            "product",
            "SELECT * FROM product WHERE ?1 IS NULL OR key = ?1 ORDER BY key",
            key,
            |it| {
                by_product.insert(it.row.get("id")?, dossiers.len());
                dossiers.push(Dossier {
                    product: it.product()?,
                    prices: Vec::new(),
                    specimens: Vec::new(),
                    stated: Vec::new(),
                    jobs: Vec::new(),
                });
                Ok(())
            },
        )?;
        let mut place = Places { dossiers: &mut dossiers, by_product, by_teardown: HashMap::new() };
        self.load_jobs(key, &mut place)?;
        self.load_facts(key, dictionary, &mut place)?;
        self.load_networks_and_sweeps(key, &mut place)?;
        Ok(dossiers)
    }

    fn load_jobs(&self, key: Option<&str>, place: &mut Places<'_>) -> Result<(), Error> {
        self.each(
            "specimen",
            "SELECT specimen.* FROM specimen JOIN product ON product.id = product_id
             WHERE ?1 IS NULL OR product.key = ?1 ORDER BY specimen.id",
            key,
            |it| {
                let specimen = Specimen {
                    label: it.row.get("label")?,
                    acquired: it.acquired()?,
                    serial: it.row.get("serial")?,
                };
                place.product(&it)?.specimens.push(specimen);
                Ok(())
            },
        )?;
        self.each(
            "teardown",
            "SELECT teardown.*, specimen.label AS label, product_id FROM teardown
             JOIN specimen ON specimen.id = specimen_id JOIN product ON product.id = product_id
             WHERE ?1 IS NULL OR product.key = ?1 ORDER BY day, teardown.id",
            key,
            |it| {
                let teardown = Teardown {
                    specimen: it.row.get("label")?,
                    date: it.day("day")?,
                    note: it.row.get("note")?,
                };
                place.add_job(&it, teardown)
            },
        )
    }

    fn load_facts(
        &self,
        key: Option<&str>,
        dictionary: &Dictionary,
        place: &mut Places<'_>,
    ) -> Result<(), Error> {
        self.each(
            "finding",
            concat!(
                "SELECT finding.* FROM finding JOIN product ON product.id = product_id WHERE (?1 IS NULL OR product.key = ?1) AND ",
                current!("finding"),
                " ORDER BY finding.id"
            ),
            key,
            |it| {
                let finding = it.finding(dictionary)?;
                match it.row.get::<_, Option<i64>>("teardown_id")? {
                    Some(_) => place.job(&it)?.findings.push(finding),
                    None => place.product(&it)?.stated.push(finding),
                }
                Ok(())
            },
        )?;
        self.each(
            "price",
            concat!(
                "SELECT price.* FROM price JOIN product ON product.id = product_id WHERE (?1 IS NULL OR product.key = ?1) AND ",
                current!("price"),
                " ORDER BY day, price.id"
            ),
            key,
            |it| {
                let price = it.price()?;
                place.product(&it)?.prices.push(price);
                Ok(())
            },
        )
    }

    fn load_networks_and_sweeps(
        &self,
        key: Option<&str>,
        place: &mut Places<'_>,
    ) -> Result<(), Error> {
        self.each(
            "element",
            concat!(
                "SELECT element.*, network.id AS id, network.teardown_id AS teardown_id FROM element
                 JOIN network ON network.id = network_id JOIN teardown ON teardown.id = teardown_id
                 JOIN specimen ON specimen.id = specimen_id JOIN product ON product.id = product_id
                 WHERE (?1 IS NULL OR product.key = ?1) AND ",
                current!("network"),
                " ORDER BY network.id, position"
            ),
            key,
            |it| {
                let element = it.element()?;
                place.job(&it)?.network.push(element);
                Ok(())
            },
        )?;
        self.each(
            "sweep",
            concat!(
                "SELECT sweep.* FROM sweep JOIN teardown ON teardown.id = teardown_id
                 JOIN specimen ON specimen.id = specimen_id JOIN product ON product.id = product_id
                 WHERE (?1 IS NULL OR product.key = ?1) AND ",
                current!("sweep"),
                " ORDER BY sweep.id"
            ),
            key,
            |it| {
                let sweep =
                    Sweep { part: it.part()?, points: it.points()?, note: it.row.get("note")? };
                place.job(&it)?.sweeps.push(sweep);
                Ok(())
            },
        )
    }

    fn each(
        &self,
        table: &'static str,
        sql: &str,
        key: Option<&str>,
        mut take: impl FnMut(Located<'_>) -> Result<(), Error>,
    ) -> Result<(), Error> {
        let mut statement = self.connection.prepare_cached(sql)?;
        let mut rows = statement.query([key])?;
        while let Some(row) = rows.next()? {
            take(Located { table, row })?;
        }
        Ok(())
    }
}

/// Where rows belong, by the ids of their owners.
struct Places<'d> {
    dossiers: &'d mut Vec<Dossier>,
    by_product: HashMap<i64, usize>,
    by_teardown: HashMap<i64, (usize, usize)>,
}

impl Places<'_> {
    fn product(&mut self, it: &Located<'_>) -> Result<&mut Dossier, Error> {
        let id: i64 = it.row.get("product_id")?;
        let at = *self.by_product.get(&id).ok_or_else(|| it.damaged("its product is not there"))?;
        Ok(&mut self.dossiers[at])
    }

    fn add_job(&mut self, it: &Located<'_>, teardown: Teardown) -> Result<(), Error> {
        let id: i64 = it.row.get("product_id")?;
        let at = *self.by_product.get(&id).ok_or_else(|| it.damaged("its product is not there"))?;
        let jobs = &mut self.dossiers[at].jobs;
        self.by_teardown.insert(it.row.get("id")?, (at, jobs.len()));
        jobs.push(Job { teardown, findings: Vec::new(), network: Vec::new(), sweeps: Vec::new() });
        Ok(())
    }

    fn job(&mut self, it: &Located<'_>) -> Result<&mut Job, Error> {
        let id: i64 = it.row.get("teardown_id")?;
        let (at, job) =
            *self.by_teardown.get(&id).ok_or_else(|| it.damaged("its teardown is not there"))?;
        Ok(&mut self.dossiers[at].jobs[job])
    }
}

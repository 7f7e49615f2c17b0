//! Sentences that were put to the test: each with all its verdicts. Nothing is ever changed; what no longer holds is followed by
//! another row.

use rusqlite::{OptionalExtension, Row, TransactionBehavior, params};

use crate::{
    Catalog, Error, Reader,
    table::{Columns, Located},
};

/// A claim as it was put down.
#[derive(Debug, Clone, PartialEq)]
pub struct NewClaim {
    /// What is tested, in its canonical form.
    pub statement: String,
    /// The author's sentence; may be empty.
    pub wording: String,
    /// Who says so; may be empty.
    pub author: String,
    /// When, UTC.
    pub made_at: String,
    /// The claim whose place it takes.
    pub replaces: Option<u32>,
}

/// One judgement.
#[derive(Debug, Clone, PartialEq)]
pub struct ClaimVerdict {
    /// When, UTC.
    pub judged_at: String,
    /// The day for which prices were taken.
    pub as_of: String,
    /// The verdict, in the words that are printed.
    pub verdict: String,
    /// What was answered, JSON.
    pub answer: String,
    /// The rubric that judged.
    pub rubric: String,
    /// The plugins with versions and hashes, JSON.
    pub plugins: String,
    /// The seed of the draws.
    pub seed: u32,
    /// The last action of the journal and the last change of the rubric that were known.
    pub known: Known,
    /// What changed it, as sentences; empty for the first verdict.
    pub causes: Vec<String>,
}

/// How far the records of a catalogue went: the number of the last action, and of the last change of the rubric; 0 for none.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Known {
    /// The last action of the journal.
    pub action: i64,
    /// How many changes of the rubric there were.
    pub rubric: i64,
}

/// A claim with what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Claim {
    /// Its number.
    pub id: u32,
    /// What was put down.
    pub claim: NewClaim,
    /// The claim that took its place.
    pub replaced_by: Option<u32>,
    /// When and why it was withdrawn.
    pub withdrawn: Option<(String, String)>,
    /// Its verdicts, oldest first.
    pub verdicts: Vec<ClaimVerdict>,
}

impl Reader {
    /// All claims with all their verdicts, in the order in which they were made.
    ///
    /// # Errors
    /// [`Error::Damaged`] naming the row that cannot be read; [`Error::Sql`].
    pub fn claims(&self) -> Result<Vec<Claim>, Error> {
        let mut statement = self.connection.prepare_cached(
            "SELECT claim.id AS id, statement, wording, author, made_at, replaces, withdrawn_at, reason,
                    (SELECT later.id FROM claim AS later WHERE later.replaces = claim.id) AS replaced_by
             FROM claim LEFT JOIN claim_withdrawn ON claim_id = claim.id ORDER BY claim.id",
        )?;
        let read = |row: &Row<'_>| {
            let withdrawn: Option<String> = row.get("withdrawn_at")?;
            let reason: Option<String> = row.get("reason")?;
            Ok(Claim {
                id: row.get("id")?,
                claim: NewClaim {
                    statement: row.get("statement")?,
                    wording: row.get("wording")?,
                    author: row.get("author")?,
                    made_at: row.get("made_at")?,
                    replaces: row.get("replaces")?,
                },
                replaced_by: row.get("replaced_by")?,
                withdrawn: withdrawn.zip(reason),
                verdicts: Vec::new(),
            })
        };
        let mut claims = statement.query_map([], read)?.collect::<Result<Vec<Claim>, _>>()?;
        for it in &mut claims {
            it.verdicts = self.verdicts(it.id)?;
        }
        Ok(claims)
    }

    fn verdicts(&self, claim: u32) -> Result<Vec<ClaimVerdict>, Error> {
        let mut statement = self
            .connection
            .prepare_cached("SELECT * FROM claim_verdict WHERE claim_id = ?1 ORDER BY id")?;
        let columns = Columns::of(&statement);
        let mut rows = statement.query([claim])?;
        let mut list = Vec::new();
        while let Some(row) = rows.next()? {
            let it = Located { table: "claim_verdict", columns: &columns, row };
            let causes: String = row.get("causes")?;
            list.push(ClaimVerdict {
                judged_at: row.get("judged_at")?,
                as_of: row.get("as_of")?,
                verdict: row.get("verdict")?,
                answer: row.get("answer")?,
                rubric: row.get("rubric")?,
                plugins: row.get("plugins")?,
                seed: row.get("seed")?,
                known: Known { action: row.get("last_action")?, rubric: row.get("last_rubric")? },
                causes: serde_json::from_str(&causes)
                    .map_err(|why| it.damaged(format!("the causes are no list of texts: {why}")))?,
            });
        }
        Ok(list)
    }

    /// How far the records go now.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn known(&self) -> Result<Known, Error> {
        Ok(self.connection.query_row(
            "SELECT (SELECT coalesce(max(id), 0) FROM change_set), (SELECT count(*) FROM rubric_change)",
            [],
            |row| Ok(Known { action: row.get(0)?, rubric: row.get(1)? }),
        )?)
    }
}

impl Catalog {
    /// Puts a claim down with its first verdict, both or neither; gives its number.
    ///
    /// # Errors
    /// [`Error::Sql`], also where the claim whose place it takes is not there or has been replaced.
    pub fn add_claim(&mut self, claim: &NewClaim, verdict: &ClaimVerdict) -> Result<u32, Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        transaction.execute(
            "INSERT INTO claim (statement, wording, author, made_at, replaces) VALUES (?1, ?2, ?3, ?4, ?5)",
            params![claim.statement, claim.wording, claim.author, claim.made_at, claim.replaces],
        )?;
        let id: u32 = transaction.query_row("SELECT max(id) FROM claim", [], |row| row.get(0))?;
        insert(&transaction, id, verdict)?;
        transaction.commit()?;
        self.settle_log();
        Ok(id)
    }

    /// Adds verdicts to claims, all or none.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn add_verdicts(&mut self, verdicts: &[(u32, ClaimVerdict)]) -> Result<(), Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        for (id, it) in verdicts {
            insert(&transaction, *id, it)?;
        }
        transaction.commit()?;
        self.settle_log();
        Ok(())
    }

    /// Withdraws a claim; says whether there was one that had not been withdrawn.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn withdraw_claim(&mut self, id: u32, reason: &str, at: &str) -> Result<bool, Error> {
        let sql = &self.reader.connection;
        let found: Option<u32> = sql
            .query_row(
                "SELECT id FROM claim WHERE id = ?1 AND id NOT IN (SELECT claim_id FROM claim_withdrawn)",
                [id],
                |row| row.get(0),
            )
            .optional()?;
        if found.is_none() {
            return Ok(false);
        }
        sql.execute(
            "INSERT INTO claim_withdrawn (claim_id, withdrawn_at, reason) VALUES (?1, ?2, ?3)",
            params![id, at, reason],
        )?;
        self.settle_log();
        Ok(true)
    }
}

fn insert(sql: &rusqlite::Connection, claim: u32, it: &ClaimVerdict) -> Result<(), Error> {
    let causes = serde_json::Value::from(it.causes.clone()).to_string();
    sql.prepare_cached(
        "INSERT INTO claim_verdict (claim_id, judged_at, as_of, verdict, answer, rubric, plugins, seed, last_action, last_rubric, causes)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
    )?
    .execute(params![
        claim,
        it.judged_at,
        it.as_of,
        it.verdict,
        it.answer,
        it.rubric,
        it.plugins,
        it.seed,
        it.known.action,
        it.known.rubric,
        causes
    ])?;
    Ok(())
}

#[cfg(test)]
mod tests;

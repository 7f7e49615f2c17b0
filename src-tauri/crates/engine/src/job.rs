//! Which teardown is meant, when something is entered or asked for.

use domain::{
    Date,
    dossier::{Dossier, Job},
    product::{Acquired, Specimen, Teardown},
};

use crate::{Engine, Error};

/// A teardown as it is named, with as much left out as may be.
#[derive(Debug, Clone, Copy)]
pub(crate) struct At<'a> {
    /// The product's key, for refusals.
    pub(crate) product: &'a str,
    /// The label of the specimen; without it that of the newest teardown.
    pub(crate) specimen: Option<&'a str>,
    /// The day, `YYYY-MM-DD`; without it that of the newest one.
    pub(crate) date: Option<&'a str>,
    /// How a new specimen was come by.
    pub(crate) acquired: Option<&'a str>,
}

impl Engine {
    /// The teardown that is meant, with its specimen; one that is not there yet is made, and not recorded.
    pub(crate) fn teardown(
        &self,
        at: &At<'_>,
        dossier: &Dossier,
    ) -> Result<(Teardown, Specimen), Error> {
        let date = at
            .date
            .map(|text| {
                text.parse::<Date>()
                    .map_err(|_| Error::request("date", text, "is not a day", "YYYY-MM-DD"))
            })
            .transpose()?;
        let of_specimen = |it: &&Job| at.specimen.is_none_or(|label| label == it.teardown.specimen);
        let newest = dossier.jobs.iter().filter(of_specimen).max_by_key(|it| it.teardown.date);
        let label = match (at.specimen, newest) {
            (Some(label), _) => label.trim().to_owned(),
            (None, Some(job)) => job.teardown.specimen.clone(),
            (None, None) => {
                let why = "has no teardown yet";
                let accepted = "a specimen with --specimen LABEL --acquired retail";
                return Err(Error::request("specimen", at.product, why, accepted));
            }
        };
        let known = dossier.specimens.iter().find(|it| it.label == label).cloned();
        let specimen = match (known, at.acquired) {
            (Some(it), _) => it,
            (None, Some(word)) => {
                let acquired = Acquired::parse(word).map_err(|why| {
                    Error::request(
                        "acquired",
                        word,
                        "is no way to come by a specimen",
                        why.accepted,
                    )
                })?;
                Specimen { label: label.clone(), acquired, serial: String::new() }
            }
            (None, None) => {
                let labels: Vec<&str> =
                    dossier.specimens.iter().map(|it| it.label.as_str()).collect();
                let accepted = format!(
                    "{}a new label with --acquired, how it was come by",
                    if labels.is_empty() {
                        String::new()
                    } else {
                        format!("{}, or ", labels.join(", "))
                    }
                );
                return Err(Error::request("specimen", &label, "is not known", accepted));
            }
        };
        let date =
            date.or_else(|| newest.map(|it| it.teardown.date)).unwrap_or_else(|| self.today());
        let teardown = job(dossier, &label, date).map_or_else(
            || Teardown { specimen: label.clone(), date, note: String::new() },
            |it| it.teardown.clone(),
        );
        Ok((teardown, specimen))
    }
}

/// The job of a specimen and a day, if it was begun.
pub(crate) fn job<'d>(dossier: &'d Dossier, specimen: &str, date: Date) -> Option<&'d Job> {
    dossier.jobs.iter().find(|it| it.teardown.specimen == specimen && it.teardown.date == date)
}

/// A dossier of one product that holds nothing but an empty job, or not even that; to record what is put into it.
pub(crate) fn only(of: &Dossier, teardown: Option<(Teardown, Specimen)>) -> Dossier {
    let (jobs, specimens) = teardown
        .map(|(teardown, specimen)| {
            let job =
                Job { teardown, findings: Vec::new(), network: Vec::new(), sweeps: Vec::new() };
            (job, specimen)
        })
        .into_iter()
        .unzip();
    Dossier { specimens, jobs, ..Dossier::of(of.product.clone()) }
}

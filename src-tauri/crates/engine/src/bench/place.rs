//! The places in which a finding of the bench may stand.

use domain::{
    Date,
    dossier::{Dossier, Job},
    evidence::Evidence,
    finding::Finding,
    product::Teardown,
};

use crate::Error;

/// Which of the places of an address.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Spot {
    /// What was found on this specimen.
    Found,
    /// What the maker says on this specimen, recorded in the teardown.
    Label,
    /// What the maker says elsewhere; it belongs to the product.
    Stated,
}

impl Spot {
    const ALL: [Spot; 3] = [Spot::Found, Spot::Label, Spot::Stated];

    pub(super) fn word(self) -> &'static str {
        match self {
            Spot::Found => "found",
            Spot::Label => "label",
            Spot::Stated => "stated",
        }
    }

    pub(super) fn parse(text: &str) -> Result<Self, Error> {
        Spot::ALL.into_iter().find(|it| it.word() == text).ok_or_else(|| Error::Request {
            place: "place",
            text: text.to_owned(),
            why: "is no place for a finding".into(),
            accepted: Spot::ALL.map(Spot::word).join(", "),
        })
    }

    /// Where a value belongs that is known in this way and stood in `self`.
    pub(super) fn with(self, evidence: Evidence) -> Self {
        match (evidence == Evidence::Claimed, self) {
            (true, Spot::Found) => Spot::Stated,
            (true, it) => it,
            (false, _) => Spot::Found,
        }
    }

    /// What stands there.
    pub(super) fn findings<'d>(
        self,
        dossier: &'d Dossier,
        teardown: Option<&Teardown>,
    ) -> impl Iterator<Item = &'d Finding> + use<'d> {
        let all = match self {
            Spot::Stated => &dossier.stated[..],
            _ => job(dossier, teardown).map_or(&[][..], |it| &it.findings),
        };
        let claimed = self != Spot::Found;
        all.iter().filter(move |it| (it.evidence == Evidence::Claimed) == claimed)
    }
}

/// The job of a teardown.
pub(super) fn job<'d>(dossier: &'d Dossier, teardown: Option<&Teardown>) -> Option<&'d Job> {
    let of = teardown?;
    let is_it = |it: &&Job| it.teardown.specimen == of.specimen && it.teardown.date == of.date;
    dossier.jobs.iter().find(is_it)
}

/// The teardown that is meant, the newest of those that fit; `None` where none is named and there is none.
pub(super) fn teardown(
    dossier: &Dossier,
    specimen: Option<&str>,
    date: Option<&str>,
) -> Result<Option<Teardown>, Error> {
    let day = match date {
        None => None,
        Some(text) => Some(text.parse::<Date>().map_err(|_| Error::Request {
            place: "date",
            text: text.to_owned(),
            why: "is not a day".into(),
            accepted: "YYYY-MM-DD".into(),
        })?),
    };
    let fits = |it: &&Job| {
        specimen.is_none_or(|label| it.teardown.specimen == label)
            && day.is_none_or(|day| it.teardown.date == day)
    };
    let found = dossier.jobs.iter().filter(fits).max_by_key(|it| it.teardown.date);
    if found.is_none() && (specimen.is_some() || day.is_some()) {
        let known: Vec<String> = dossier
            .jobs
            .iter()
            .map(|it| format!("{} on {}", it.teardown.specimen, it.teardown.date))
            .collect();
        let asked: Vec<&str> = [specimen, date].into_iter().flatten().collect();
        return Err(Error::Request {
            place: "teardown",
            text: asked.join(" on "),
            why: "is no teardown of this product".into(),
            accepted: if known.is_empty() {
                "a teardown that was added before".into()
            } else {
                known.join(", ")
            },
        });
    }
    Ok(found.map(|it| it.teardown.clone()))
}

//! Sweeps as they are pasted or picked: read, fitted, drawn, recorded.

use catalog::Whole;
use domain::{
    part::{Part, Role},
    sweep::Sweep,
    sweep_text, text,
};
use serde::Deserialize;

use crate::{
    Engine, Error, clock,
    dto::{SweepFault, SweepRemark, SweepReport},
    job::{self, At},
};

mod chart;
mod fitted;

use fitted::Fitted;

/// Which sweep, and what is to become of it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct SweepRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// The label of the specimen; without it that of the newest teardown.
    pub specimen: Option<String>,
    /// The day of the teardown, `YYYY-MM-DD`; without it that of the newest one.
    pub date: Option<String>,
    /// How a new specimen was come by.
    pub acquired: Option<String>,
    /// What was measured: `whole`, or a driver such as `woofer`.
    pub part: String,
    /// The columns as a measuring program wrote them; null to ask for what is recorded.
    pub text: Option<String>,
    /// A remark on the sweep.
    pub note: String,
    /// Whether the text is recorded; else it is only read and drawn.
    pub record: bool,
    /// Whether the recorded sweep is taken out.
    pub remove: bool,
    /// Why; kept with the change.
    pub reason: String,
}

/// The accepted form of what is measured.
const PARTS: &str = "whole, woofer, midrange, tweeter; drivers may end in 2 to 9";

impl Engine {
    /// A sweep with the curve fitted to it: as recorded, or as a text says. A text that cannot be read comes back with its
    /// faults, and nothing is recorded.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], [`Error::Request`] for a teardown or a part that is not understood, or when the catalogue
    /// cannot be read or written.
    pub fn sweep(&self, request: &SweepRequest) -> Result<SweepReport, Error> {
        let (_, dossier) = self.known_product(&request.product)?;
        let at = At {
            product: &request.product,
            specimen: request.specimen.as_deref(),
            date: request.date.as_deref(),
            acquired: request.acquired.as_deref(),
        };
        let place = self.teardown(&at, &dossier)?;
        let part = part(&request.part)?;
        let sweeps = job::job(&dossier, &place.0.specimen, place.0.date)
            .map(|it| &it.sweeps[..])
            .unwrap_or_default();
        let mut report = SweepReport {
            product: dossier.product.key.to_string(),
            specimen: place.0.specimen.clone(),
            date: place.0.date.to_string(),
            part: part.to_string(),
            parts: dossier
                .parts()
                .into_iter()
                .filter(|it| is_swept(*it))
                .map(|it| it.to_string())
                .collect(),
            recorded_parts: sweeps.iter().map(|it| it.part.to_string()).collect(),
            points: 0,
            note: String::new(),
            recorded: false,
            changed: false,
            faults: Vec::new(),
            remarks: Vec::new(),
            chart: None,
            fit: None,
            no_fit: String::new(),
        };
        if request.remove {
            let teardown = (&place.0.specimen[..], place.0.date);
            report.changed = self.writer()?.withdraw_whole(
                &dossier.product.key,
                teardown,
                Whole::Sweep(part),
                request.reason.trim(),
                &clock::now(),
            )?;
            report.recorded_parts.retain(|it| *it != report.part);
            return Ok(report);
        }
        let Some(text) = &request.text else {
            if let Some(it) = sweeps.iter().find(|it| it.part == part) {
                report.recorded = true;
                draw(&mut report, it);
            }
            return Ok(report);
        };
        let read = match sweep_text::parse(text) {
            Ok(it) => it,
            Err(faults) => {
                report.faults = faults.into_iter().map(fault).collect();
                return Ok(report);
            }
        };
        let note = text::note(request.note.trim()).map_err(|why| Error::Request {
            place: "note",
            text: text::shortened(&request.note, 40),
            why: why.message,
            accepted: why.accepted,
        })?;
        report.remarks = read
            .remarks
            .into_iter()
            .map(|it| SweepRemark { line: it.line, text: it.text })
            .collect();
        let sweep = Sweep { part, points: read.points, note };
        draw(&mut report, &sweep);
        report.recorded = sweeps.contains(&sweep);
        if request.record {
            let mut only = job::only(&dossier, Some(place));
            for job in &mut only.jobs {
                job.sweeps.push(sweep.clone());
            }
            let tally = self.writer()?.record(&only, request.reason.trim(), &clock::now())?;
            report.changed = tally.added + tally.corrected > 0;
            report.recorded = true;
            if !report.recorded_parts.contains(&report.part) {
                report.recorded_parts.push(report.part.clone());
            }
        }
        Ok(report)
    }

    /// As [`Engine::sweep`], with what cannot be read as a refusal.
    ///
    /// # Errors
    /// Also [`Error::Sweep`].
    pub fn record_sweep(&self, request: &SweepRequest) -> Result<SweepReport, Error> {
        let report = self.sweep(request)?;
        if report.faults.is_empty() {
            Ok(report)
        } else {
            Err(Error::Sweep { faults: report.faults })
        }
    }
}

fn part(typed: &str) -> Result<Part, Error> {
    let refuse = |why: &str| Error::Request {
        place: "part",
        text: typed.to_owned(),
        why: why.into(),
        accepted: PARTS.into(),
    };
    let part: Part = typed.trim().parse().map_err(|_| refuse("is no part"))?;
    if is_swept(part) { Ok(part) } else { Err(refuse("has no impedance of its own")) }
}

/// Whether a part has an impedance of its own: the whole at its terminals, and each driver.
pub(crate) fn is_swept(part: Part) -> bool {
    part == Part::first(Role::Whole) || part.role.is_driver()
}

fn fault(it: sweep_text::BadRow) -> SweepFault {
    SweepFault {
        line: it.line,
        column: it.column.into(),
        message: it.message,
        accepted: it.accepted,
    }
}

fn draw(report: &mut SweepReport, sweep: &Sweep) {
    let fitted = Fitted::of(sweep);
    report.points = u32::try_from(sweep.points.len()).unwrap_or(u32::MAX);
    report.note.clone_from(&sweep.note);
    report.chart = Some(chart::chart(sweep, fitted.as_ref().ok()));
    match fitted {
        Ok(it) => report.fit = Some(it.told()),
        Err(why) => report.no_fit = why,
    }
}

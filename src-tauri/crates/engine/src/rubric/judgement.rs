//! What each plugin judges by, with its curves drawn: the rubric once more, in the order of criteria.

use bw_sdk::manifest::{Better, Criterion, InputKind, Manifest};
use standing::utility::Scale;

use super::{Changes, Known, Rubric, RubricRequest, value::Form, value::Value};
use crate::{
    Engine, Error,
    dto::{
        CriterionJudgement, Judgement, PlotPoint, PluginFinding, PluginInput, PluginJudgement,
        PluginManifest, RubricNumber, UtilityCurve, UtilityWord,
    },
    plugins::Plugins,
};

/// How much of the width lies outside the first and the last point, on each side, where a curve is flat.
const MARGIN: f64 = 0.12;

impl Engine {
    /// What each plugin judges by, the numbers that this catalogue changes, and all changes ever recorded.
    ///
    /// # Errors
    /// When the catalogue cannot be read. A plugin that cannot be loaded is a remark.
    pub fn judgement(&self) -> Result<Judgement, Error> {
        let list = self.rubric(&RubricRequest::default())?;
        let changes = self.changes()?;
        let Rubric { known, .. } = self.known()?;
        let trusted = self.reader().trusted_plugins()?;
        let mut plugins = Vec::new();
        for candidate in Plugins::candidates(&trusted) {
            let row = self.plugin_row(&candidate);
            let loaded = candidate.pinned.and_then(|file| self.plugins.load(&file));
            let manifest = loaded.ok().map(|it| of_manifest(&it.manifest, &known, &changes));
            plugins.push(PluginJudgement { row, manifest });
        }
        let without_plugin = |kind: &str| {
            let numbers = list.numbers.iter().filter(|it| it.plugin.is_none() && it.kind == kind);
            numbers.cloned().collect()
        };
        Ok(Judgement {
            plugins,
            subsystems: without_plugin("weight"),
            evidence: without_plugin("evidence"),
            history: self.rubric_history()?.changes,
            unused: list.unused,
            remarks: list.remarks,
        })
    }
}

fn of_manifest(it: &Manifest, known: &[Known], changes: &Changes) -> PluginManifest {
    let of = |path: &str| {
        known.iter().find(|at| at.plugin.as_deref() == Some(&it.id) && at.place.path == path)
    };
    let weight = |criterion: &Criterion| match of(&format!("criterion.{}.weight", criterion.id))
        .map(|it| it.now(changes))
    {
        Some(Value::Number(it)) => it,
        _ => criterion.weight,
    };
    let sum: f64 = it.criteria.iter().map(weight).sum();
    let criteria = it.criteria.iter().filter_map(|criterion| {
        let number = |name: &str| of(&format!("criterion.{}.{name}", criterion.id));
        let answer = |it: &Known| it.answer(changes);
        let utility = number("utility");
        Some(CriterionJudgement {
            id: criterion.id.clone(),
            title: criterion.title.clone(),
            better: match criterion.better {
                Better::Lower => "lower",
                Better::Higher => "higher",
                Better::Target => "target",
            }
            .into(),
            share: if sum > 0.0 { weight(criterion) / sum } else { 0.0 },
            inputs: criterion.inputs.clone(),
            // A second plugin of a subsystem scores nothing, and nothing of it can be changed.
            weight: answer(number("weight")?),
            utility: utility.map(answer),
            curve: utility.map(|it| drawn(it, changes)),
            bonus: number("bonus").map(answer),
            doc: criterion.doc.clone(),
            source: criterion.source.clone(),
        })
    });
    let is_param = |at: &&Known| at.plugin.as_deref() == Some(&it.id) && at.place.kind() == "param";
    let params: Vec<RubricNumber> =
        known.iter().filter(is_param).map(|it| it.answer(changes)).collect();
    PluginManifest {
        vendor: it.vendor.clone(),
        licence: it.licence.clone(),
        rubric: it.rubric.clone(),
        deterministic: it.deterministic,
        inputs: it
            .inputs
            .iter()
            .map(|it| PluginInput {
                id: it.id.clone(),
                kind: word(it.kind).into(),
                unit: unit(&it.unit),
                required: it.required,
            })
            .collect(),
        findings: it
            .findings
            .iter()
            .map(|it| PluginFinding {
                key: it.key.clone(),
                label: it.label.clone(),
                part: it.part.clone().unwrap_or_else(|| "whole".into()),
                unit: unit(&it.unit),
                why: it.why.clone(),
            })
            .collect(),
        criteria: criteria.collect(),
        params,
    }
}

fn word(kind: InputKind) -> &'static str {
    match kind {
        InputKind::Number => "number",
        InputKind::Choice => "choice",
        InputKind::Count => "count",
        InputKind::Bool => "bool",
        InputKind::Curve => "curve",
    }
}

fn unit(it: &str) -> String {
    if it == "1" { String::new() } else { it.to_owned() }
}

fn drawn(of: &Known, changes: &Changes) -> UtilityCurve {
    let (now, own) = (of.now(changes), &of.place.own);
    let unit = unit(&of.place.unit);
    let with_unit = |it: f64| format!("{} {unit}", short(it)).trim_end().to_owned();
    match (&of.place.form, &now, own) {
        (Form::Curve { scale }, Value::Curve(now), Value::Curve(own)) => {
            let log = *scale == Scale::Log;
            let ends = ends(now.iter().chain(own), log);
            let pairs = |points: &[[f64; 2]]| {
                let pair = |[x, u]: &[f64; 2]| format!("{u} at {}", with_unit(*x));
                points.iter().map(pair).collect::<Vec<_>>().join(", ")
            };
            UtilityCurve {
                now: line(now, ends, log),
                manifest: if now == own { Vec::new() } else { line(own, ends, log) },
                words: Vec::new(),
                left: with_unit(ends.0),
                right: with_unit(ends.1),
                log,
                sentence: format!("Points: {}.", pairs(now)),
            }
        }
        (Form::Table { words }, Value::Table(now), Value::Table(own)) => {
            let points = |word: &String| UtilityWord {
                word: word.clone(),
                points: now.get(word).copied().unwrap_or_default(),
                manifest: own.get(word).copied().unwrap_or_default(),
            };
            let words: Vec<UtilityWord> = words.iter().map(points).collect();
            let pairs = words.iter().map(|it| format!("{} for {}", it.points, it.word));
            UtilityCurve {
                now: Vec::new(),
                manifest: Vec::new(),
                left: String::new(),
                right: String::new(),
                log: false,
                sentence: format!("Points: {}.", pairs.collect::<Vec<_>>().join(", ")),
                words,
            }
        }
        // The value is of the place's form.
        (form, now, _) => UtilityCurve {
            now: Vec::new(),
            manifest: Vec::new(),
            words: Vec::new(),
            left: String::new(),
            right: String::new(),
            log: false,
            sentence: form.text(now),
        },
    }
}

/// Three figures, as the ends of an axis need no more.
fn short(it: f64) -> String {
    if it == 0.0 {
        return "0".into();
    }
    let places = (2.0 - it.abs().log10().floor()).clamp(0.0, 6.0);
    // From 0 to 6.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to 6")]
    let text = format!("{it:.*}", places as usize).replace('-', "\u{2212}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// The measures at the left and the right.
fn ends<'p>(points: impl Iterator<Item = &'p [f64; 2]>, log: bool) -> (f64, f64) {
    let (low, high) = points.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), [x, _]| {
        (low.min(*x), high.max(*x))
    });
    if log {
        let margin = (high / low).powf(MARGIN / (1.0 - 2.0 * MARGIN));
        (low / margin, high * margin)
    } else {
        let margin = (high - low) * MARGIN / (1.0 - 2.0 * MARGIN);
        // What cannot be below 0 is not drawn there.
        (if low >= 0.0 { (low - margin).max(0.0) } else { low - margin }, high + margin)
    }
}

/// The points of a curve from edge to edge of a unit square; the top is 100 points.
fn line(points: &[[f64; 2]], (left, right): (f64, f64), log: bool) -> Vec<PlotPoint> {
    let at = |x: f64| {
        let place =
            if log { (x / left).ln() / (right / left).ln() } else { (x - left) / (right - left) };
        place.clamp(0.0, 1.0)
    };
    let y = |u: f64| 1.0 - u / 100.0;
    let mut drawn: Vec<PlotPoint> =
        points.iter().map(|[x, u]| PlotPoint { x: at(*x), y: y(*u) }).collect();
    if let (Some([_, first]), Some([_, last])) = (points.first(), points.last()) {
        drawn.insert(0, PlotPoint { x: 0.0, y: y(*first) });
        drawn.push(PlotPoint { x: 1.0, y: y(*last) });
    }
    drawn
}

#[cfg(test)]
mod tests {
    use super::*;

    fn manifest(text: &str) -> PluginManifest {
        let manifest = Manifest::parse(text).unwrap();
        let known: Vec<Known> = super::super::places(&manifest)
            .into_iter()
            .map(|place| Known {
                plugin: Some(manifest.id.clone()),
                subsystem: manifest.subsystem.clone(),
                address: place.path.clone(),
                place,
            })
            .collect();
        of_manifest(&manifest, &known, &Changes::default())
    }

    #[test]
    fn each_criterion_comes_with_its_share_and_its_curve() {
        let it = manifest(crate::rubric::tests::MANIFEST);
        let shares: f64 = it.criteria.iter().map(|it| it.share).sum();
        assert!((shares - 1.0).abs() < 1e-12, "{shares}");
        for it in &it.criteria {
            assert_eq!(it.utility.is_some(), it.curve.is_some(), "{}", it.id);
            let Some(curve) = &it.curve else { continue };
            assert_ne!(curve.now.is_empty(), curve.words.is_empty(), "a line or a table");
            assert!(curve.now.windows(2).all(|it| it[0].x <= it[1].x), "{curve:?}");
        }
    }

    #[test]
    fn a_curve_runs_from_edge_to_edge_and_keeps_its_points_in_place() {
        // 100 and 400 are apart by two octaves, 200 is in the middle.
        let points = [[100.0, 0.0], [200.0, 50.0], [400.0, 100.0]];
        let ends = ends(points.iter(), true);
        let drawn = line(&points, ends, true);
        let xs: Vec<f64> = drawn.iter().map(|it| it.x).collect();
        for (x, wanted) in xs.iter().zip([0.0, MARGIN, 0.5, 1.0 - MARGIN, 1.0]) {
            assert!((x - wanted).abs() < 1e-12, "{xs:?}");
        }
        assert!((drawn[2].y - 0.5).abs() < 1e-12, "{drawn:?}");
    }

    #[test]
    fn ends_of_an_axis_have_three_figures() {
        let shown = [0.0, 1234.5, 0.012_34, 8.0, 101.6].map(short);
        assert_eq!(shown, ["0", "1234", "0.0123", "8", "102"]);
    }
}

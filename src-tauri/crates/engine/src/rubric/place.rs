//! The numbers of a manifest that a catalogue may change: where each stands, what it may be, and how it is replaced.

use bw_sdk::manifest::{Criterion, Manifest, Utility};
use physics::spread;
use standing::utility::Scale;

use super::value::{Form, Value};

/// One number, curve or table that a catalogue may change.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Place {
    spot: Spot,
    /// Its path inside the plugin.
    pub(super) path: String,
    pub(super) form: Form,
    /// What the manifest says.
    pub(super) own: Value,
    pub(super) title: String,
    /// Unit of the number, or of the measures of a curve.
    pub(super) unit: String,
    pub(super) doc: String,
    pub(super) source: String,
}

/// Which number of a manifest, by the index of its criterion or parameter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Spot {
    Weight(usize),
    Utility(usize),
    Bonus(usize),
    Param(usize),
    /// In no manifest: the weight of a subsystem in the index.
    Subsystem,
    /// In no manifest: how far findings of a grade of evidence may be off.
    Evidence,
}

/// What the weight of a subsystem is called: this and its name.
pub(super) const SUBSYSTEM: &str = "subsystem.";

/// What the spread of a grade of evidence is called: this and its id.
pub(super) const EVIDENCE: &str = "evidence.";

/// All places of a manifest, in its order.
pub(super) fn places(manifest: &Manifest) -> Vec<Place> {
    let mut places = Vec::new();
    for (at, it) in manifest.criteria.iter().enumerate() {
        let place = |spot, name: &str, form, own, unit: &str| Place {
            spot,
            path: format!("criterion.{}.{name}", it.id),
            form,
            own,
            title: it.title.clone(),
            unit: unit.to_owned(),
            doc: it.doc.clone(),
            source: it.source.clone(),
        };
        places.push(place(Spot::Weight(at), "weight", Form::WEIGHT, Value::Number(it.weight), "1"));
        if let Some((form, own)) = utility(manifest, it) {
            places.push(place(Spot::Utility(at), "utility", form, own, &it.unit));
        }
        if let Some(bonus) = &it.bonus {
            let own = Value::Number(bonus.points);
            places.push(place(Spot::Bonus(at), "bonus", Form::BONUS, own, "1"));
        }
    }
    places.extend(manifest.params.iter().enumerate().map(|(at, it)| Place {
        spot: Spot::Param(at),
        path: format!("param.{}", it.id),
        form: Form::Number { min: it.min, max: it.max },
        own: Value::Number(it.default),
        title: it.id.clone(),
        unit: it.unit.clone(),
        doc: it.doc.clone(),
        source: it.source.clone(),
    }));
    places
}

/// What the criterion's measure is worth; `None` where the measure is the points.
fn utility(manifest: &Manifest, of: &Criterion) -> Option<(Form, Value)> {
    Some(match of.utility.as_ref()? {
        Utility::Linear { points } => {
            (Form::Curve { scale: Scale::Linear }, Value::Curve(points.clone()))
        }
        Utility::Log { points } => {
            (Form::Curve { scale: Scale::Log }, Value::Curve(points.clone()))
        }
        Utility::Choice { points, .. } => {
            (Form::Table { words: manifest.words(of)?.to_vec() }, Value::Table(points.clone()))
        }
    })
}

/// What the spread of a grade may be.
pub(super) fn evidence_form(of: &spread::Entry) -> Form {
    Form::Number { min: of.min, max: of.max }
}

impl Place {
    /// The weight of a subsystem in the index.
    pub(super) fn of_subsystem(name: &str, weight: f64) -> Self {
        Place {
            spot: Spot::Subsystem,
            path: format!("{SUBSYSTEM}{name}"),
            form: Form::WEIGHT,
            own: Value::Number(weight),
            title: format!("Weight of {name} in the index"),
            unit: "1".into(),
            doc: "How much the subsystem counts; only the ratios to the other subsystems matter."
                .into(),
            source: "editorial".into(),
        }
    }

    /// How far findings of a grade may be off.
    pub(super) fn of_evidence(of: &spread::Entry) -> Self {
        Place {
            spot: Spot::Evidence,
            path: format!("{EVIDENCE}{}", of.id),
            form: evidence_form(of),
            own: Value::Number(of.default),
            title: of.title.into(),
            unit: "1".into(),
            doc: of.doc.into(),
            source: of.source.into(),
        }
    }

    /// What kind of number it is.
    pub(super) fn kind(&self) -> &'static str {
        match self.spot {
            Spot::Weight(_) | Spot::Subsystem => "weight",
            Spot::Utility(_) if matches!(self.form, Form::Table { .. }) => "table",
            Spot::Utility(_) => "curve",
            Spot::Bonus(_) => "bonus",
            Spot::Param(_) => "param",
            Spot::Evidence => "evidence",
        }
    }

    /// Puts a value of the place's form into the manifest that the place was found in.
    pub(super) fn put(&self, manifest: &mut Manifest, value: Value) {
        if let (Spot::Param(at), Value::Number(it)) = (self.spot, &value)
            && let Some(of) = manifest.params.get_mut(at)
        {
            of.default = *it;
        }
        let (Spot::Weight(at) | Spot::Utility(at) | Spot::Bonus(at)) = self.spot else { return };
        let Some(of) = manifest.criteria.get_mut(at) else { return };
        match (self.spot, value, &mut of.utility, &mut of.bonus) {
            (Spot::Weight(_), Value::Number(it), _, _) => of.weight = it,
            (Spot::Bonus(_), Value::Number(it), _, Some(bonus)) => bonus.points = it,
            (
                Spot::Utility(_),
                Value::Curve(new),
                Some(Utility::Linear { points } | Utility::Log { points }),
                _,
            ) => *points = new,
            (Spot::Utility(_), Value::Table(new), Some(Utility::Choice { points, .. }), _) => {
                *points = new;
            }
            // The form was checked, and it is that of the spot.
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn manifest() -> Manifest {
        Manifest::parse(crate::rubric::tests::MANIFEST).unwrap()
    }

    #[test]
    fn each_number_of_a_manifest_has_a_place() {
        let found: Vec<(String, &str)> =
            places(&manifest()).iter().map(|it| (it.path.clone(), it.kind())).collect();
        let wanted = [
            ("criterion.velocity.weight", "weight"),
            ("criterion.velocity.utility", "curve"),
            ("criterion.velocity.bonus", "bonus"),
            ("criterion.wall.weight", "weight"),
            ("criterion.wall.utility", "table"),
            ("criterion.own.weight", "weight"),
            ("param.limit", "param"),
        ];
        assert_eq!(found, wanted.map(|(path, kind)| (path.to_owned(), kind)));
    }

    #[test]
    fn what_is_put_in_a_place_stands_there_and_nowhere_else() {
        let texts = ["7", "10: 90, 30: 10", "5", "0", "bare: 1, lined: 2, sheet: 3", "9", "20"];
        for (at, text) in texts.into_iter().enumerate() {
            let mut changed = manifest();
            let place = places(&changed).swap_remove(at);
            let value = place.form.parse(text).unwrap();
            assert_ne!(value, place.own, "the test changes nothing");
            place.put(&mut changed, value.clone());
            for (other, (now, before)) in
                places(&changed).iter().zip(places(&manifest())).enumerate()
            {
                let wanted = if other == at { &value } else { &before.own };
                assert_eq!(&now.own, wanted, "{} after {}", now.path, place.path);
            }
        }
    }
}

//! The rules of a manifest that its types cannot state.

use std::collections::BTreeMap;

use super::text;
use super::{
    Bonus, Criterion, Finding, Input, InputKind, Manifest, ManifestError, Param, Remark, Utility,
};
use crate::abi::ABI_MAJOR;

/// Longest id or unit, in bytes.
const MAX_ID: usize = 96;
/// Longest text for people, in bytes.
const MAX_TEXT: usize = 4096;
/// Most elements of one list.
const MAX_LIST: usize = 512;

type Checked = Result<(), ManifestError>;

pub(super) fn manifest(manifest: &Manifest) -> Checked {
    if manifest.abi.major != ABI_MAJOR {
        let found = manifest.abi.major;
        return refuse(
            "abi.major",
            format!("made for interface {found}; this host speaks {ABI_MAJOR}"),
        );
    }
    id("id", &manifest.id)?;
    if !manifest.id.split('.').all(|part| !part.is_empty()) || !manifest.id.contains('.') {
        return refuse(
            "id",
            format!("`{}` is not a reversed domain such as `org.example.flatness`", manifest.id),
        );
    }
    id("subsystem", &manifest.subsystem)?;
    if manifest.subsystem.contains(['.', '-']) {
        return refuse(
            "subsystem",
            format!("`{}` is not one word of a-z, 0-9 and _", manifest.subsystem),
        );
    }
    let named = [
        ("version", &manifest.version),
        ("name", &manifest.name),
        ("vendor", &manifest.vendor),
        ("licence", &manifest.licence),
        ("rubric", &manifest.rubric),
    ];
    for (path, value) in named {
        text_for_people(path, value)?;
    }
    each("inputs", &manifest.inputs, |input| &input.id, "id", input)?;
    each("params", &manifest.params, |param| &param.id, "id", param)?;
    if manifest.criteria.is_empty() {
        return refuse("criteria", "a plugin scores at least one criterion".to_owned());
    }
    each(
        "criteria",
        &manifest.criteria,
        |it| &it.id,
        "id",
        |path, it| criterion(path, it, manifest),
    )?;
    each("remarks", &manifest.remarks, |remark| &remark.code, "code", remark)?;
    each(
        "findings",
        &manifest.findings,
        |it| &it.key,
        "key",
        |path, it| finding(path, it, manifest),
    )
}

/// Checks the ids of a list, that none comes twice, and each element.
fn each<T>(
    list_path: &str,
    list: &[T],
    id_of: impl Fn(&T) -> &String,
    id_name: &str,
    check: impl Fn(&str, &T) -> Checked,
) -> Checked {
    if MAX_LIST < list.len() {
        return refuse(list_path, format!("{} elements; the limit is {MAX_LIST}", list.len()));
    }
    for (i, element) in list.iter().enumerate() {
        let path = format!("{list_path}[{i}]");
        let own = id_of(element);
        id(&format!("{path}.{id_name}"), own)?;
        if let Some(first) = list[..i].iter().position(|it| id_of(it) == own) {
            return refuse(
                &format!("{path}.{id_name}"),
                format!("`{own}` is already the {id_name} of {list_path}[{first}]"),
            );
        }
        check(&path, element)?;
    }
    Ok(())
}

fn input(path: &str, input: &Input) -> Checked {
    unit(&format!("{path}.unit"), &input.unit)?;
    choices(path, input.kind, &input.choices)?;
    match (&input.x_unit, input.kind == InputKind::Curve) {
        (Some(x_unit), true) => unit(&format!("{path}.x_unit"), x_unit),
        (None, true) => {
            refuse(&format!("{path}.x_unit"), "a curve states the unit of its grid".to_owned())
        }
        (Some(_), false) => refuse(&format!("{path}.x_unit"), "only a curve has a grid".to_owned()),
        (None, false) => Ok(()),
    }
}

fn choices(path: &str, kind: InputKind, choices: &[String]) -> Checked {
    let path = format!("{path}.choices");
    match (kind == InputKind::Choice, choices.is_empty()) {
        (true, true) => return refuse(&path, "a choice lists its values".to_owned()),
        (false, false) => return refuse(&path, "only a choice lists values".to_owned()),
        _ => {}
    }
    for (i, choice) in choices.iter().enumerate() {
        let path = format!("{path}[{i}]");
        text_for_people(&path, choice)?;
        if choices[..i].contains(choice) {
            return refuse(&path, format!("`{choice}` is listed twice"));
        }
    }
    Ok(())
}

fn param(path: &str, param: &Param) -> Checked {
    unit(&format!("{path}.unit"), &param.unit)?;
    if param.max < param.min {
        return refuse(&format!("{path}.max"), format!("{} is below min {}", param.max, param.min));
    }
    if !(param.min..=param.max).contains(&param.default) {
        let (default, min, max) = (param.default, param.min, param.max);
        return refuse(&format!("{path}.default"), format!("{default} is outside {min}..{max}"));
    }
    Ok(())
}

fn criterion(path: &str, criterion: &Criterion, manifest: &Manifest) -> Checked {
    text_for_people(&format!("{path}.title"), &criterion.title)?;
    text_for_people(&format!("{path}.doc"), &criterion.doc)?;
    text_for_people(&format!("{path}.source"), &criterion.source)?;
    unit(&format!("{path}.unit"), &criterion.unit)?;
    if criterion.weight <= 0.0 {
        return refuse(&format!("{path}.weight"), format!("{} is not above 0", criterion.weight));
    }
    if criterion.inputs.is_empty() {
        return refuse(
            &format!("{path}.inputs"),
            "a criterion reads at least one input".to_owned(),
        );
    }
    for (i, input) in criterion.inputs.iter().enumerate() {
        if manifest.input_index(input).is_none() {
            return refuse(
                &format!("{path}.inputs[{i}]"),
                format!("`{input}` is not an input of this plugin"),
            );
        }
    }
    if let [Some(low), Some(high)] = criterion.range
        && high <= low
    {
        return refuse(&format!("{path}.range"), format!("{high} is not above {low}"));
    }
    if let Some(it) = &criterion.bonus {
        bonus(&format!("{path}.bonus"), it, criterion, manifest)?;
    }
    match &criterion.utility {
        Some(Utility::Linear { points }) => curve(&format!("{path}.utility"), points, false),
        Some(Utility::Log { points }) => curve(&format!("{path}.utility"), points, true),
        Some(Utility::Choice { points, input }) => {
            table(path, points, input.as_deref(), criterion, manifest)
        }
        None if criterion.range == [Some(0.0), Some(100.0)] => Ok(()),
        None => {
            refuse(&format!("{path}.range"), "without a utility the range is [0, 100]".to_owned())
        }
    }
}

fn bonus(path: &str, bonus: &Bonus, criterion: &Criterion, manifest: &Manifest) -> Checked {
    if bonus.points <= 0.0 || 100.0 < bonus.points {
        let points = bonus.points;
        return refuse(&format!("{path}.points"), format!("{points} is not above 0 and up to 100"));
    }
    if bonus.inputs.is_empty() {
        return refuse(&format!("{path}.inputs"), "a bonus is given for an input".to_owned());
    }
    for (i, id) in bonus.inputs.iter().enumerate() {
        let path = format!("{path}.inputs[{i}]");
        if !criterion.inputs.contains(id) {
            return refuse(&path, format!("`{id}` is not an input of the criterion"));
        }
        let input = manifest.inputs.iter().find(|it| it.id == *id);
        if input.is_some_and(|it| matches!(it.kind, InputKind::Choice | InputKind::Curve)) {
            return refuse(&path, format!("`{id}` is neither a number nor yes or no"));
        }
    }
    Ok(())
}

/// The table of a choice: every word of the input, no other, and the range of its indices.
fn table(
    path: &str,
    points: &BTreeMap<String, f64>,
    input: Option<&str>,
    criterion: &Criterion,
    manifest: &Manifest,
) -> Checked {
    if let Some(id) = input.filter(|id| !criterion.inputs.iter().any(|it| it == id)) {
        return refuse(
            &format!("{path}.utility.input"),
            format!("`{id}` is not an input of the criterion"),
        );
    }
    let Some(words) = manifest.words(criterion) else {
        return match input {
            Some(id) => refuse(&format!("{path}.utility.input"), format!("`{id}` is not a choice")),
            None => refuse(
                &format!("{path}.utility"),
                "no input of the criterion is a choice".to_owned(),
            ),
        };
    };
    let path_of = |word: &str| format!("{path}.utility.points.{word}");
    for word in words {
        if !points.contains_key(word) {
            return refuse(&path_of(word), format!("the choice `{word}` has no points"));
        }
    }
    for (word, &u) in points {
        if !words.contains(word) {
            let accepted = words.join(", ");
            return refuse(&path_of(word), format!("not a choice here; accepted: {accepted}"));
        }
        if !(0.0..=100.0).contains(&u) {
            return refuse(&path_of(word), format!("{u} is outside 0..100"));
        }
    }
    let last = words.len().saturating_sub(1);
    if criterion.range != [Some(0.0), Some(last as f64)] {
        return refuse(
            &format!("{path}.range"),
            format!("of {} choices it is [0, {last}]", words.len()),
        );
    }
    Ok(())
}

fn curve(path: &str, points: &[[f64; 2]], is_log: bool) -> Checked {
    if points.len() < 2 {
        return refuse(&format!("{path}.points"), "a utility has at least two points".to_owned());
    }
    for (i, &[x, u]) in points.iter().enumerate() {
        if is_log && x <= 0.0 {
            return refuse(
                &format!("{path}.points[{i}][0]"),
                format!("{x} is not above 0, as a log scale needs"),
            );
        }
        if 0 < i && x <= points[i - 1][0] {
            let before = points[i - 1][0];
            return refuse(
                &format!("{path}.points[{i}][0]"),
                format!("{x} is not above {before} before it"),
            );
        }
        if !(0.0..=100.0).contains(&u) {
            return refuse(&format!("{path}.points[{i}][1]"), format!("{u} is outside 0..100"));
        }
    }
    Ok(())
}

fn remark(path: &str, remark: &Remark) -> Checked {
    text_for_people(&format!("{path}.text"), &remark.text)?;
    for (i, arg) in remark.args.iter().enumerate() {
        id(&format!("{path}.args[{i}].id"), &arg.id)?;
        unit(&format!("{path}.args[{i}].unit"), &arg.unit)?;
    }
    if let Some(cap) = remark.cap.filter(|it| *it > 100) {
        return refuse(&format!("{path}.cap"), format!("{cap} is outside 0..100"));
    }
    text::check(&remark.text, remark.args.len())
        .or_else(|what| refuse(&format!("{path}.text"), what))
}

fn finding(path: &str, finding: &Finding, manifest: &Manifest) -> Checked {
    if !finding.key.starts_with(&format!("{}.", manifest.id)) {
        return refuse(
            &format!("{path}.key"),
            format!("`{}` does not start with `{}.`", finding.key, manifest.id),
        );
    }
    text_for_people(&format!("{path}.label"), &finding.label)?;
    unit(&format!("{path}.unit"), &finding.unit)?;
    choices(path, finding.kind, &finding.choices)?;
    match finding.typical {
        Some([low, high]) if high <= low => {
            refuse(&format!("{path}.typical"), format!("{high} is not above {low}"))
        }
        _ => Ok(()),
    }
}

fn id(path: &str, id: &str) -> Checked {
    let inner = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "._-".contains(c);
    let starts_well = id.starts_with(|c: char| c.is_ascii_lowercase() || c.is_ascii_digit());
    if starts_well && id.len() <= MAX_ID && id.chars().all(inner) {
        return Ok(());
    }
    refuse(
        path,
        format!("{id:?} is not an id: a-z or 0-9, then a-z, 0-9, `.`, `_`, `-`, at most {MAX_ID}"),
    )
}

fn unit(path: &str, unit: &str) -> Checked {
    if unit.is_empty()
        || 32 < unit.len()
        || unit.chars().any(|c| c.is_control() || c.is_whitespace())
    {
        return refuse(path, format!("{unit:?} is not a unit; a pure number has `1`"));
    }
    Ok(())
}

fn text_for_people(path: &str, text: &str) -> Checked {
    if text.trim().is_empty() {
        return refuse(path, "is empty".to_owned());
    }
    if MAX_TEXT < text.len() {
        return refuse(path, format!("has {} bytes; the limit is {MAX_TEXT}", text.len()));
    }
    if text.chars().any(char::is_control) {
        return refuse(path, "contains a control character".to_owned());
    }
    Ok(())
}

fn refuse(path: &str, what: String) -> Checked {
    Err(ManifestError::Rule { path: path.to_owned(), what })
}

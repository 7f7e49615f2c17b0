//! axe-core in the real window, where contrast and sizes can be measured.

use serde_json::Value;

use crate::{Outcome, Window, programs};

/// The rules broken in what is shown now, with the elements that break them. Of WCAG 2.2: levels A and AA.
///
/// # Errors
/// When the packages of `ui` are not installed or the page throws.
pub async fn violations(window: &Window) -> Outcome<Vec<String>> {
    let path = programs::root()?.join("ui/node_modules/axe-core/axe.min.js");
    let axe = std::fs::read_to_string(&path)
        .map_err(|why| format!("{}: {why}; install it with: npm ci --prefix ui", path.display()))?;
    window.client().execute(&axe, Vec::new()).await?;
    let run = "const done = arguments[0];
        const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
        axe.run(document, { runOnly: tags }).then(
            (report) => done({
                passed: report.passes.length,
                broken: report.violations.map((it) =>
                    it.id + ': ' + it.nodes.map((node) => node.html + ' ' + node.failureSummary).join(' | ')),
            }),
            (why) => done({ passed: 0, broken: [String(why)] }));";
    let report = window.client().execute_async(run, Vec::new()).await?;
    // A run in which no rule applied would prove nothing.
    if report["passed"].as_u64().is_none_or(|it| it < 10) {
        return Err(format!("axe-core checked next to nothing: {report}").into());
    }
    let broken = report["broken"].as_array().cloned().unwrap_or_default();
    Ok(broken.iter().filter_map(Value::as_str).map(str::to_owned).collect())
}

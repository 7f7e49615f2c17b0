//! Reads the tables of published values in `tests/data`.

/// The rows of a comma-separated table below its header; lines that begin with `#` are its source.
pub(crate) fn table(text: &str) -> Vec<Vec<&str>> {
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let columns = lines.next().expect("a header").split(',').count();
    lines
        .map(|line| {
            let cells: Vec<_> = line.split(',').collect();
            assert_eq!(cells.len(), columns, "{line}");
            cells
        })
        .collect()
}

/// The number in a cell.
#[track_caller]
pub(crate) fn number(cell: &str) -> f64 {
    cell.parse().unwrap_or_else(|_| panic!("{cell:?} is not a number"))
}

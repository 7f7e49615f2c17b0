//! Standard output: an answer as JSON or as text.

use std::io::{self, ErrorKind, Write};

use serde::Serialize;

use crate::failure::Failure;

/// The line width where there is no terminal to ask, and the widest lines that are still easy to read.
const WIDTH: usize = 100;
const WIDEST: usize = 140;

/// The narrowest terminal that tables are fitted to.
const NARROWEST: usize = 60;

/// Where answers go.
#[derive(Debug)]
pub(crate) struct Output {
    json: bool,
    width: usize,
}

impl Output {
    pub(crate) fn new(json: bool) -> Self {
        let width = terminal_size::terminal_size_of(io::stdout())
            .map_or(WIDTH, |(width, _)| usize::from(width.0).clamp(NARROWEST, WIDEST));
        Output { json, width }
    }

    /// Whether answers are printed as JSON.
    pub(crate) fn is_json(&self) -> bool {
        self.json
    }

    /// Prints an answer; the text is made only when it is asked for.
    pub(crate) fn answer<T: Serialize>(
        &mut self,
        answer: &T,
        text: impl FnOnce(&T, usize) -> String,
    ) -> Result<(), Failure> {
        if self.json {
            let mut json = serde_json::to_string_pretty(answer)
                .map_err(|why| Failure::Internal(why.to_string()))?;
            json.push('\n');
            self.text(&json)
        } else {
            let text = text(answer, self.width);
            self.text(&text)
        }
    }

    /// Prints a text as it is. A reader that has seen enough is no failure.
    pub(crate) fn text(&mut self, text: &str) -> Result<(), Failure> {
        let mut out = io::stdout().lock();
        match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
            Err(why) if why.kind() != ErrorKind::BrokenPipe => Err(Failure::Output(why)),
            _ => Ok(()),
        }
    }
}

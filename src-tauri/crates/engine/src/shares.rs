//! Reading a file in parts, all at once: most of the time of a first look at a catalogue goes into fetching rows.

use catalog::{Reader, Share};

use crate::{
    Engine, Error,
    cores::{self, on_all_cores},
};

/// Products whose findings take longer to read than another reader to open.
const WORTH_SHARING: usize = 40;

impl Engine {
    /// Reads parts of the file, each by a reader of its own on a core of its own, all at one state of the file. If somebody
    /// wrote meanwhile, or put another file in its place, they may have seen different states: then once more, by one reader.
    ///
    /// # Errors
    /// Those of reading a part.
    pub(crate) fn read_at_once<T: Sync, R: Send>(
        &self,
        parts: &[T],
        read: impl Fn(&Reader, &T) -> Result<R, Error> + Sync,
    ) -> Result<Vec<R>, Error> {
        if let [_, _, ..] = parts {
            let (version, last) = {
                let reader = self.reader();
                (reader.data_version()?, reader.last_change()?)
            };
            let one = |part: &T| -> Result<Option<R>, Error> {
                // Where it cannot be opened any more, the reader that is open says why.
                let Ok(reader) = Reader::open(self.catalogue()) else { return Ok(None) };
                reader.at_one_moment(|reader| {
                    let is_same = reader.last_change()? == last;
                    is_same.then(|| read(reader, part)).transpose()
                })
            };
            let done: Result<Option<Vec<R>>, Error> =
                on_all_cores(parts, one).into_iter().collect();
            if self.reader().data_version()? == version
                && let Some(done) = done?
            {
                return Ok(done);
            }
        }
        self.reader().at_one_moment(|reader| parts.iter().map(|it| read(reader, it)).collect())
    }
}

/// A list in as many parts as there are cores; in one where it is so short that another reader does not pay.
pub(crate) fn parts<T>(list: &[T]) -> Vec<&[T]> {
    let cores = if list.len() < WORTH_SHARING { 1 } else { cores::count() };
    list.chunks(list.len().div_ceil(cores).max(1)).collect()
}

/// Shares of whole tables, one for each core.
pub(crate) fn of_tables() -> Vec<Share> {
    let of = cores::count();
    (0..of).map(|at| Share { at, of }).collect()
}

#[cfg(test)]
mod tests;

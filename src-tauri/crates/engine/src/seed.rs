//! The catalogue of invented products that comes with the program, to look around in.

use std::{fs, path::Path};

use catalog::backup;
use include_dir::{Dir, include_dir};

use crate::{Engine, EngineOptions, Error, ImportRequest, NewRequest, paths, unwatched};

static SEED: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/../../../seed-catalog");

impl Engine {
    /// Makes a catalogue of invented products.
    ///
    /// # Errors
    /// When the file exists or cannot be written.
    pub fn create_seed(path: &Path) -> Result<(), Error> {
        let broken = |why: std::io::Error| Error::Internal(format!("the seed catalogue: {why}"));
        // The reader of the plain format reads folders.
        let folder = tempfile::tempdir().map_err(broken)?;
        let texts = folder.path().join("texts");
        fs::create_dir(&texts).and_then(|()| SEED.extract(&texts)).map_err(broken)?;
        // The folder brings its own currency and month.
        let request =
            NewRequest { title: None, currency: "USD".into(), base_month: "2026-01".into() };
        let file = folder.path().join("seed.boxworth");
        Engine::create(&file, &request)?;
        let options = EngineOptions {
            catalogue: file.clone(),
            require_sandbox: false,
            today: None,
            cache: None,
        };
        let request = ImportRequest { paths: vec![texts], dry_run: false };
        let _ = Engine::open(options)?.import(&request, &mut unwatched)?;
        paths::make_data_folder(path);
        // Half of it would look like a catalogue of somebody's own.
        Ok(backup::copy_to(&file, path)?)
    }
}

#[cfg(test)]
mod tests {
    use crate::{Engine, EngineOptions, ProductsRequest};

    #[test]
    fn the_seed_that_is_built_in_is_a_whole_catalogue() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("seed.boxworth");
        Engine::create_seed(&file).unwrap();
        let options = EngineOptions {
            catalogue: file.clone(),
            require_sandbox: false,
            today: None,
            cache: None,
        };
        let list = Engine::open(options).unwrap().products(&ProductsRequest::default()).unwrap();
        assert!(list.products.len() >= 20, "{}", list.products.len());
        assert_ne!(list.base_month, "2026-01", "the folder's own month holds");
        assert!(Engine::create_seed(&file).is_err(), "a file that is there is left alone");
    }
}

//! A catalogue of its own for a test, made by the command line.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::{Outcome, programs};

/// A folder for a test, with a catalogue in it or none. It is removed when the value goes.
#[derive(Debug)]
pub struct Shelf {
    folder: tempfile::TempDir,
    catalogue: PathBuf,
}

impl Shelf {
    /// No catalogue yet.
    ///
    /// # Errors
    /// When there is no room for temporary files.
    pub fn bare() -> Outcome<Self> {
        let folder = tempfile::Builder::new().prefix("boxworth-e2e-").tempdir()?;
        let catalogue = folder.path().join("shelf.boxworth");
        Ok(Shelf { folder, catalogue })
    }

    /// The seed catalogue, imported by the command line.
    ///
    /// # Errors
    /// When the command line is not built or refuses the seed.
    pub fn seeded() -> Outcome<Self> {
        let shelf = Shelf::bare()?;
        shelf.make()?;
        shelf.boxworth(&["import", "seed-catalog"])?;
        Ok(shelf)
    }

    /// Makes the catalogue, empty.
    ///
    /// # Errors
    /// When the command line is not built or the file is there already.
    pub fn make(&self) -> Outcome {
        let catalogue =
            self.catalogue.to_str().ok_or("the temporary folder's name is not UTF-8")?;
        self.boxworth(&["new", catalogue])?;
        Ok(())
    }

    /// Sets how the desktop wants windows to be, as `gtk-enable-animations=0`.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn desktop(&self, settings: &str) -> Outcome {
        let folder = self.folder().join("config/gtk-3.0");
        std::fs::create_dir_all(&folder)?;
        std::fs::write(folder.join("settings.ini"), format!("[Settings]\n{settings}\n"))?;
        Ok(())
    }

    /// The example plugin in C++, compiled into the folder.
    ///
    /// # Errors
    /// When there is no C++ compiler.
    pub fn plugin(&self) -> Outcome<PathBuf> {
        let library = self.folder().join("libfinish.so");
        let mut compiler = programs::command("c++")?;
        compiler.args(["-std=c++11", "-O1", "-fPIC", "-shared", "-fvisibility=hidden"]);
        compiler.args(["-I", "plugins/api/include", "-o"]).arg(&library);
        let made = compiler.arg("plugins/examples/cpp/finish.cpp").output()?;
        if !made.status.success() {
            return Err(String::from_utf8_lossy(&made.stderr).into());
        }
        Ok(library)
    }

    /// What `boxworth --catalogue … <arguments>` prints.
    ///
    /// # Errors
    /// When the program is not built or ends with another status than 0; its messages are in the error.
    pub fn boxworth(&self, arguments: &[&str]) -> Outcome<String> {
        let mut command = programs::command(programs::built("boxworth")?)?;
        let output = command.arg("--catalogue").arg(&self.catalogue).args(arguments).output()?;
        if !output.status.success() {
            let said = String::from_utf8_lossy(&output.stderr);
            return Err(
                format!("boxworth {}: {}\n{said}", arguments.join(" "), output.status).into()
            );
        }
        Ok(String::from_utf8(output.stdout)?)
    }

    /// The same with `--json`, read.
    ///
    /// # Errors
    /// As [`Shelf::boxworth`], or when it prints no JSON.
    pub fn json(&self, arguments: &[&str]) -> Outcome<Value> {
        Ok(serde_json::from_str(&self.boxworth(&[&["--json"], arguments].concat())?)?)
    }

    /// The folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// The file of the catalogue.
    #[must_use]
    pub fn catalogue(&self) -> &Path {
        &self.catalogue
    }
}

//! What was asked for: the command line of `cargo xtask`.

use crate::app::Profile;

pub(crate) const USAGE: &str = "\
cargo xtask run [--headless] [--release] [--band LOW..HIGH]
    set up, build, load the seed catalogue and rank a price band (200..500);
    with a display also open the window on it
cargo xtask test [--only STAGE]... [--from STAGE]
    set up and run every check that CI runs
cargo xtask setup [--window] [--no-install]
    install what the terminal needs; with --window also what the window and the tests need
cargo xtask build [--window] [--release]
    plugins, worker and boxworth; with --window also the window
cargo xtask types [--check]
    write (or compare) the TypeScript types and the JSON Schema that are generated from Rust
cargo xtask verify [--write]
    install ngspice and a Python with scipy, solve random networks, boxes and sweeps with them, and compare with
    boxworth and with the agreed results that the tests read; with --write make those results anew
cargo xtask crash [--kills N] [--seed N]
    kill the program at N moments (1000) while it writes, cut the power after every step of its work, and compare what
    is left with what it acknowledged
cargo xtask bench
    measure import, shelf, catalogues of 100,000 products, band, ranking, plugins, fit, network and whole product in
    release, each beside its peer or limit, and write the table of src-tauri/BENCHES.md; takes about a
    quarter of an hour, most of it to compile, and some twenty minutes more the first time, to make the catalogues
    (1.6 GB in the folder for temporary files; as much again for a moment)
cargo xtask bundle [--check] [--debug]
    make a Debian package in target/bundle, from a release build (or with --debug from the one at hand), and have the
    validators that are there read it; with --check also install it in a clean Debian and rank the seed there
cargo xtask sbom [--check]
    write what the program is made of as CycloneDX 1.6 JSON; with --check have a library of others read it
cargo xtask deny [--without-advisories]
    hold licences, sources, versions twice and known flaws of the crates against .cargo/deny.toml
cargo xtask tidy
    the rules of this repository that no other tool checks
cargo xtask screenshot
    remake the pictures of README.md
";

/// One task with its options.
#[derive(Debug, PartialEq)]
pub(crate) enum Task {
    Help,
    Setup { window: bool, install: bool },
    Build { window: bool, profile: Profile },
    Run { headless: bool, profile: Profile, band: String },
    Test(Choice),
    Tidy,
    Types { check: bool },
    Screenshot,
    Bench,
    Bundle { check: bool, profile: Profile },
    Sbom { check: bool },
    Deny { without_advisories: bool },
    Crash { kills: String, seed: String },
    Verify { write: bool },
}

/// Which stages of `test` to run; both empty means all.
#[derive(Debug, Default, PartialEq)]
pub(crate) struct Choice {
    pub(crate) only: Vec<String>,
    pub(crate) from: Option<String>,
}

/// Reads the arguments after `cargo xtask`. The error names what was not understood and what would be.
pub(crate) fn parse(arguments: &[String]) -> Result<Task, String> {
    let Some((name, rest)) = arguments.split_first() else {
        return Err(format!("which task?\n{USAGE}"));
    };
    let mut given = Given { task: name, rest: rest.to_vec() };
    let task = match name.as_str() {
        "help" | "--help" | "-h" => Task::Help,
        "setup" => {
            Task::Setup { window: given.flag("--window"), install: !given.flag("--no-install") }
        }
        "build" => Task::Build { window: given.flag("--window"), profile: given.profile() },
        "run" => Task::Run {
            headless: given.flag("--headless"),
            profile: given.profile(),
            band: given.value("--band")?.unwrap_or_else(|| "200..500".to_owned()),
        },
        "test" => {
            let mut choice = Choice { from: given.value("--from")?, ..Choice::default() };
            while let Some(stage) = given.value("--only")? {
                choice.only.push(stage);
            }
            if choice.from.is_some() && !choice.only.is_empty() {
                return Err("test: give --only or --from, not both".to_owned());
            }
            Task::Test(choice)
        }
        "tidy" => Task::Tidy,
        "types" => Task::Types { check: given.flag("--check") },
        "screenshot" => Task::Screenshot,
        "bench" => Task::Bench,
        "bundle" => Task::Bundle {
            check: given.flag("--check"),
            profile: if given.flag("--debug") { Profile::Dev } else { Profile::Release },
        },
        "sbom" => Task::Sbom { check: given.flag("--check") },
        "deny" => Task::Deny { without_advisories: given.flag("--without-advisories") },
        "crash" => Task::Crash {
            kills: given.number("--kills", "1000")?,
            seed: given.number("--seed", "1")?,
        },
        "verify" => Task::Verify { write: given.flag("--write") },
        other => return Err(format!("there is no task `{other}`\n{USAGE}")),
    };
    given.nothing_left()?;
    Ok(task)
}

/// The arguments not yet understood.
struct Given<'a> {
    task: &'a str,
    rest: Vec<String>,
}

impl Given<'_> {
    fn flag(&mut self, name: &str) -> bool {
        let before = self.rest.len();
        self.rest.retain(|it| it != name);
        self.rest.len() < before
    }

    fn profile(&mut self) -> Profile {
        if self.flag("--release") { Profile::Release } else { Profile::Dev }
    }

    /// `--name VALUE` or `--name=VALUE`, the first of them.
    fn value(&mut self, name: &str) -> Result<Option<String>, String> {
        let joined = format!("{name}=");
        let Some(at) = self.rest.iter().position(|it| it == name || it.starts_with(&joined)) else {
            return Ok(None);
        };
        let found = self.rest.remove(at);
        if let Some(value) = found.strip_prefix(&joined) {
            return Ok(Some(value.to_owned()));
        }
        if at < self.rest.len() && !self.rest[at].starts_with("--") {
            return Ok(Some(self.rest.remove(at)));
        }
        Err(format!("{}: {name} needs a value", self.task))
    }

    /// As [`Given::value`], a whole number.
    fn number(&mut self, name: &str, otherwise: &str) -> Result<String, String> {
        let given = self.value(name)?.unwrap_or_else(|| otherwise.to_owned());
        match given.parse::<u64>() {
            Ok(_) => Ok(given),
            Err(_) => Err(format!("{}: {name} needs a whole number, not `{given}`", self.task)),
        }
    }

    fn nothing_left(&self) -> Result<(), String> {
        match self.rest.first() {
            None => Ok(()),
            Some(odd) => Err(format!("{}: `{odd}` is not understood\n{USAGE}", self.task)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parsed(line: &str) -> Result<Task, String> {
        parse(&line.split_whitespace().map(str::to_owned).collect::<Vec<_>>())
    }

    #[test]
    fn run_ranks_the_budget_band_unless_told_otherwise() {
        let band = "200..500".to_owned();
        assert_eq!(parsed("run"), Ok(Task::Run { headless: false, profile: Profile::Dev, band }));
        let band = "..300".to_owned();
        assert_eq!(
            parsed("run --release --band ..300 --headless"),
            Ok(Task::Run { headless: true, profile: Profile::Release, band })
        );
    }

    #[test]
    fn values_may_be_joined_by_an_equals_sign() {
        let band = "100..".to_owned();
        assert_eq!(
            parsed("run --band=100.."),
            Ok(Task::Run { headless: false, profile: Profile::Dev, band })
        );
    }

    #[test]
    fn only_may_be_repeated() {
        let only = vec!["fmt".to_owned(), "tidy".to_owned()];
        assert_eq!(
            parsed("test --only fmt --only tidy"),
            Ok(Task::Test(Choice { only, from: None }))
        );
    }

    #[test]
    fn setup_installs_unless_forbidden() {
        assert_eq!(parsed("setup"), Ok(Task::Setup { window: false, install: true }));
        assert_eq!(
            parsed("setup --window --no-install"),
            Ok(Task::Setup { window: true, install: false })
        );
    }

    #[test]
    fn verify_compares_unless_told_to_write() {
        assert_eq!(parsed("verify"), Ok(Task::Verify { write: false }));
        assert_eq!(parsed("verify --write"), Ok(Task::Verify { write: true }));
    }

    #[test]
    fn a_package_is_of_a_release_unless_told_otherwise() {
        let bundle = |check, profile| Ok(Task::Bundle { check, profile });
        assert_eq!(parsed("bundle"), bundle(false, Profile::Release));
        assert_eq!(parsed("bundle --debug --check"), bundle(true, Profile::Dev));
    }

    #[test]
    fn known_flaws_are_looked_at_unless_told_otherwise() {
        assert_eq!(parsed("deny"), Ok(Task::Deny { without_advisories: false }));
        let without = Ok(Task::Deny { without_advisories: true });
        assert_eq!(parsed("deny --without-advisories"), without);
    }

    #[test]
    fn faults_name_the_argument() {
        for (line, part) in [
            ("", "which task"),
            ("fly", "`fly`"),
            ("run --fast", "run: `--fast`"),
            ("tidy now", "tidy: `now`"),
            ("run --band", "run: --band needs a value"),
            ("run --band --release", "run: --band needs a value"),
            ("test --only fmt --from tidy", "not both"),
            ("crash --kills many", "crash: --kills needs a whole number"),
        ] {
            let text = parsed(line).expect_err(line);
            assert!(text.contains(part), "{line}: {text}");
        }
    }
}

//! The man page and the completions, from the same definition as the parser.

use std::io;

use clap::{Command, CommandFactory};
use clap_complete::Shell;
use clap_mangen::Man;

use crate::args::Cli;

/// Completions for a shell.
pub(crate) fn completions(shell: Shell) -> Vec<u8> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "boxworth", &mut script);
    script
}

/// One page: the program, then each command as a section of its own.
///
/// The list of commands that the generator offers is left out: it refers to pages that are not there.
pub(crate) fn man() -> io::Result<Vec<u8>> {
    let mut page = Vec::new();
    let program = Cli::command();
    let man = Man::new(program.clone());
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    for command in program.get_subcommands() {
        section(&mut page, command, "boxworth")?;
    }
    let mut notes = Vec::new();
    man.render_extra_section(&mut notes)?;
    let notes = String::from_utf8_lossy(&notes).replace(".SH EXTRA", ".SH NOTES");
    page.extend_from_slice(notes.as_bytes());
    Ok(page)
}

fn section(page: &mut Vec<u8>, command: &Command, above: &str) -> io::Result<()> {
    let name = format!("{above} {}", command.get_name());
    let man = Man::new(command.clone().bin_name(&name));
    let mut text = Vec::new();
    man.render_synopsis_section(&mut text)?;
    man.render_description_section(&mut text)?;
    man.render_options_section(&mut text)?;
    // Headings of a command stand below the command's own.
    let text = String::from_utf8_lossy(&text).replace(".SH ", ".SS ");
    page.extend_from_slice(format!(".SH {}\n{text}", name.to_uppercase()).as_bytes());
    for command in command.get_subcommands() {
        section(page, command, &name)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_has_a_section_for_each_command_and_refers_to_no_other_page() {
        let page = String::from_utf8(man().unwrap()).unwrap();
        let mut commands: Vec<String> =
            Cli::command().get_subcommands().map(|it| it.get_name().to_uppercase()).collect();
        commands.push("PLUGIN TRUST".into());
        for name in commands {
            assert!(page.contains(&format!(".SH BOXWORTH {name}\n")), "{name}");
        }
        assert!(!page.contains("(1)"), "{page}");
        assert_eq!(page.matches(".TH ").count(), 1);
        assert!(page.contains("Exit status: 0 done"), "{page}");
    }

    #[test]
    fn completions_know_commands_and_their_options() {
        for shell in [Shell::Bash, Shell::Zsh, Shell::Fish, Shell::PowerShell, Shell::Elvish] {
            let script = String::from_utf8(completions(shell)).unwrap();
            for word in ["import", "dry-run", "revoke", "weights", "as-of"] {
                assert!(script.contains(word), "{shell} does not complete {word}");
            }
        }
    }
}

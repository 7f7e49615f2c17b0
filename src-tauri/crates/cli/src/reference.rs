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
pub(crate) fn man() -> io::Result<Vec<u8>> {
    let mut page = Vec::new();
    let program = Cli::command();
    Man::new(program.clone()).render(&mut page)?;
    for command in program.get_subcommands() {
        section(&mut page, command, "boxworth")?;
    }
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

//! Declares the commands, so that each needs a permission, and embeds configuration and pages.

#[path = "src/command_list.rs"]
#[macro_use]
mod command_list;

macro_rules! names {
    ($($name:ident),*) => { &[$(stringify!($name)),*] };
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    println!("cargo:rerun-if-changed=src/command_list.rs");
    let commands: &[&str] = with_commands!(names);
    let manifest = tauri_build::AppManifest::new().commands(commands);
    tauri_build::try_build(tauri_build::Attributes::new().app_manifest(manifest))?;
    Ok(())
}

//! `sumpwright new`: a commented starter design in a new folder.

use crate::cli::New;
use crate::failure::Failure;
use crate::store::{StoreFault, atomic};
use crate::terminal;
use job::FileKind;
use std::process::ExitCode;

/// The schema that the starter's first line names, so that an editor completes and checks what is typed.
const SCHEMA: &str = "pan.schema.json";

/// Writes the starter.
pub fn run(arguments: &New) -> Result<ExitCode, Failure> {
    let folder = &arguments.folder;
    let files = job::starter();
    for file in files {
        let path = folder.join(file.name);
        if path.exists() {
            return Err(Failure::input(
                format!("{} is there already", path.display()),
                folder.display().to_string(),
                "name a new folder; nothing was changed",
            ));
        }
    }
    let as_input = |fault: StoreFault| Failure::input(fault.to_string(), "", fault.mend());
    atomic::make_folder(folder).map_err(as_input)?;
    for file in files {
        atomic::write(&folder.join(file.name), file.text.as_bytes()).map_err(as_input)?;
    }
    let schema = job::schema(FileKind::Pan);
    atomic::write(&folder.join(SCHEMA), schema.as_bytes()).map_err(as_input)?;
    let design = folder.join(files[0].name);
    terminal::say(&format!(
        "wrote {}\nnext: change it to your pan, then run\n  sumpwright check {}\n",
        design.display(),
        design.display()
    ));
    Ok(ExitCode::SUCCESS)
}

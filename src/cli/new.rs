//! `foreshadow new`: a plan to start from.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use super::error::CliError;
use super::typed::quoted;
use super::{print, print_json};
use crate::files;
use crate::plan::shipped::{self, SHIPPED, Shipped};
use crate::plan::suggest::nearest;
use crate::plan::{self, PlanError};

/// Write a plan to start from; alone, list the shipped ones
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// The file to write
    plan: Option<PathBuf>,
    /// What to start from: a shipped plan's name, or a still that carries its plan
    #[arg(long, value_name = "NAME|STILL")]
    from: Option<String>,
    /// Overwrite the file if it is there
    #[arg(long)]
    force: bool,
    /// List the shipped plans as JSON
    #[arg(long, conflicts_with_all = ["plan", "from"])]
    json: bool,
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    if let (Some(path), Some(still)) = (&typed.plan, &typed.from)
        && shipped::find(still).is_none()
        && Path::new(still).is_file()
    {
        free(path, typed.force)?;
        plan::write(&plan::read(still)?, path)?;
        print(&format!("{}: the plan of {still}\n", path.display()))?;
        return Ok(ExitCode::SUCCESS);
    }
    let from = match &typed.from {
        Some(name) => find(name)?,
        None => &SHIPPED[0],
    };
    match (&typed.plan, typed.json) {
        (Some(path), _) => write(path, from, typed.force)?,
        (None, _) if typed.from.is_some() => {
            return Err(CliError::usage(
                "no file is named to write",
                format!("foreshadow new my.ron --from {}", from.name),
            ));
        }
        (None, true) => {
            let entry = |s: &Shipped| serde_json::json!({"name": s.name, "teaches": s.teaches()});
            print_json(&SHIPPED.iter().map(entry).collect::<Vec<_>>())?;
        }
        (None, false) => print(&list())?,
    }
    Ok(ExitCode::SUCCESS)
}

fn find(name: &str) -> Result<&'static Shipped, CliError> {
    shipped::find(name).ok_or_else(|| {
        let names: Vec<_> = SHIPPED.iter().map(|s| s.name).collect();
        let remedy = match nearest(name, names.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("name one of {}", names.join(", ")),
        };
        CliError::usage(format!("--from {}: no such plan ships", quoted(name)), remedy)
    })
}

fn list() -> String {
    let mut text = String::from("Shipped plans (foreshadow new PLAN --from NAME):\n");
    for shipped in SHIPPED {
        text += &format!("  {:<14} {}\n", shipped.name, shipped.teaches());
    }
    text
}

/// Whether a file may be written there.
fn free(path: &Path, force: bool) -> Result<(), CliError> {
    if path.exists() && !force {
        return Err(CliError::usage(
            format!("{}: the file is there", path.display()),
            "choose another name, or overwrite it with --force",
        ));
    }
    Ok(())
}

fn write(path: &Path, from: &Shipped, force: bool) -> Result<(), CliError> {
    free(path, force)?;
    files::write_whole(path, from.text.as_bytes())
        .map_err(|source| PlanError::Write { name: path.display().to_string(), source })?;
    print(&format!("{}: from `{}`. {}\n", path.display(), from.name, from.teaches()))
}

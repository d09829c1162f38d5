//! Where a picture goes, judged before any work is spent on it.

use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};

use crate::files;
use crate::picture::FileFormat;
use crate::plan::error::reason;

/// A place for a picture that was found to be writable.
#[derive(Debug, Clone, PartialEq)]
pub struct Output {
    /// Kind of file.
    pub format: FileFormat,
    /// The file; `None` is standard output.
    pub path: Option<PathBuf>,
}

/// Why a place will not take a file.
#[derive(Debug, thiserror::Error)]
pub enum OutputError {
    /// The place is wrong.
    #[error("{path}: {problem}\n   hint: {remedy}")]
    Place {
        /// As the user gave it.
        path: String,
        /// What is wrong with it.
        problem: String,
        /// What to do.
        remedy: String,
    },
    /// The system refused while writing.
    #[error("{path}: cannot write: {}", reason(.source))]
    Write {
        /// As the user gave it.
        path: String,
        /// The system's answer.
        source: io::Error,
    },
}

impl Output {
    /// Checks a place for a picture: `-` is standard output (PNG), else the ending says the kind.
    pub fn picture(path: &Path) -> Result<Self, OutputError> {
        if path == Path::new("-") {
            if io::stdout().is_terminal() {
                return Err(place(
                    path,
                    "a picture cannot be shown in a terminal",
                    "write `-o OUT.png`, or pass it on: `-o - | …`",
                ));
            }
            return Ok(Self { format: FileFormat::Png8, path: None });
        }
        if path.is_dir() {
            return Err(place(path, "this is a folder", "name a file in it, such as still.png"));
        }
        let Some(format) = FileFormat::of_path(path) else {
            return Err(place(
                path,
                "its ending names no kind of picture",
                "use .png, .jpg, .tif or .exr",
            ));
        };
        file(path)?;
        Ok(Self { format, path: Some(path.to_owned()) })
    }

    /// Writes the encoded picture, whole or not at all.
    pub fn write(&self, bytes: &[u8]) -> Result<(), OutputError> {
        match &self.path {
            Some(path) => files::write_whole(path, bytes)
                .map_err(|source| OutputError::Write { path: path.display().to_string(), source }),
            None => {
                let mut out = io::stdout().lock();
                out.write_all(bytes)
                    .and_then(|()| out.flush())
                    .map_err(|source| OutputError::Write { path: "standard output".into(), source })
            }
        }
    }
}

/// Checks a place for a plan.
pub fn plan(path: &Path) -> Result<(), OutputError> {
    if path.is_dir() {
        return Err(place(path, "this is a folder", "name a file in it, such as new.ron"));
    }
    if path.exists() && !path.is_file() {
        return Err(place(path, "this is not a regular file", "name a new file"));
    }
    if path.metadata().is_ok_and(|known| known.permissions().readonly()) {
        return Err(place(path, "this file is read-only", "name another, or make it writable"));
    }
    writable(path, files::folder_of(path))
}

/// Checks that a file can be written or replaced.
pub(super) fn file(path: &Path) -> Result<(), OutputError> {
    if path.exists() && !path.is_file() {
        return Err(place(
            path,
            "this is not a regular file",
            "name a new file, or `-` for standard output",
        ));
    }
    if path.metadata().is_ok_and(|known| known.permissions().readonly()) {
        return Err(place(path, "this file is read-only", "name another, or make it writable"));
    }
    writable(path, files::folder_of(path))
}

/// Checks a folder that files will be written into; it may not exist yet, but its parent must.
pub fn folder(path: &Path) -> Result<(), OutputError> {
    if path == Path::new("-") {
        return Err(place(path, "several files cannot go to standard output", "name a folder"));
    }
    if path.is_dir() {
        return writable(path, path);
    }
    if path.exists() {
        return Err(place(path, "this is a file", "name a folder for the exported files"));
    }
    writable(path, files::folder_of(path))
}

/// Proves that a folder takes files by making one and taking it away.
fn writable(path: &Path, folder: &Path) -> Result<(), OutputError> {
    if !folder.is_dir() {
        return Err(place(
            path,
            &format!("there is no folder {}", folder.display()),
            "make the folder first",
        ));
    }
    match tempfile::tempfile_in(folder) {
        Ok(_) => Ok(()),
        Err(error) => Err(place(
            path,
            &format!("the folder {} takes no files: {}", folder.display(), reason(&error)),
            "write to a folder of your own",
        )),
    }
}

pub(super) fn place(path: &Path, problem: &str, remedy: &str) -> OutputError {
    OutputError::Place {
        path: path.display().to_string(),
        problem: problem.into(),
        remedy: remedy.into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn judged_places_leave_no_trace() {
        let folder = tempfile::tempdir().unwrap();
        let output = Output::picture(&folder.path().join("a.png")).unwrap();
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
        output.write(b"x").unwrap();
        assert_eq!(std::fs::read(folder.path().join("a.png")).unwrap(), b"x");
    }
}

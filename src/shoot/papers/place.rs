//! Where pages go: one PDF, or an SVG or PNG for each page, or a folder of stills beside them.

use std::path::{Path, PathBuf};

use crate::files;
use crate::papers::{Page, Paper, draw};
use crate::shoot::ShootError;
use crate::shoot::output::{self, Output, OutputError};

/// Kinds of page file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PageKind {
    /// All pages in one file, as vectors.
    Pdf,
    /// A file a page, as vectors.
    Svg,
    /// A file a page, as pixels.
    Png,
}

/// A place for pages that was found to be writable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PaperPlace {
    /// A PDF to standard output.
    Stdout,
    /// A file, or several numbered ones.
    File(PageKind, PathBuf),
    /// A folder that takes the stills one by one and the page as PDF.
    Folder(PathBuf),
}

impl PaperPlace {
    /// Checks a place by its ending: `.pdf`, `.svg`, `.png`, `-` for a PDF on standard output; with
    /// no ending, or a folder that is there, a folder where those are taken.
    pub fn of(path: &Path, folders: bool) -> Result<Self, OutputError> {
        if path == Path::new("-") {
            if std::io::IsTerminal::is_terminal(&std::io::stdout()) {
                return Err(output::place(
                    path,
                    "a PDF cannot be shown in a terminal",
                    "write `-o OUT.pdf`, or pass it on: `-o - | …`",
                ));
            }
            return Ok(Self::Stdout);
        }
        if path.is_dir() || (folders && path.extension().is_none()) {
            if !folders {
                return Err(output::place(path, "this is a folder", "name a file in it: page.pdf"));
            }
            output::folder(path)?;
            return Ok(Self::Folder(path.to_owned()));
        }
        let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
        let kind = match ending.to_ascii_lowercase().as_str() {
            "pdf" => PageKind::Pdf,
            "svg" => PageKind::Svg,
            "png" => PageKind::Png,
            _ => {
                return Err(output::place(
                    path,
                    "its ending names no kind of page",
                    if folders {
                        "use .pdf, .svg or .png, or name a folder for single stills"
                    } else {
                        "use .pdf, .svg or .png"
                    },
                ));
            }
        };
        output::file(path)?;
        Ok(Self::File(kind, path.to_owned()))
    }

    /// Writes the pages and says which files there are now.
    pub(super) fn write(
        &self,
        pages: &[Page],
        paper: Paper,
        title: &str,
    ) -> Result<Vec<PathBuf>, ShootError> {
        match self {
            Self::Stdout => {
                let output = Output { format: crate::picture::FileFormat::Png8, path: None };
                output.write(&draw::pdf(pages, title)?)?;
                Ok(Vec::new())
            }
            Self::Folder(folder) => {
                let path = folder.join("page.pdf");
                write(&path, &draw::pdf(pages, title)?)?;
                Ok(vec![path])
            }
            Self::File(PageKind::Pdf, path) => {
                write(path, &draw::pdf(pages, title)?)?;
                Ok(vec![path.clone()])
            }
            Self::File(kind, path) => pages
                .iter()
                .enumerate()
                .map(|(number, page)| {
                    let path = if number == 0 { path.clone() } else { numbered(path, number + 1) };
                    match kind {
                        PageKind::Svg => write(&path, draw::svg(page).as_bytes())?,
                        _ => write(&path, &draw::png(page, paper.pixels_per_inch())?)?,
                    }
                    Ok(path)
                })
                .collect(),
        }
    }

    /// The folder for single stills, made if it is not there yet.
    pub(super) fn stills(&self) -> Result<Option<&Path>, ShootError> {
        let Self::Folder(folder) = self else { return Ok(None) };
        if !folder.is_dir() {
            std::fs::create_dir(folder).map_err(|source| refused(folder, source))?;
        }
        Ok(Some(folder))
    }
}

/// `sheet.svg` → `sheet-2.svg`.
fn numbered(path: &Path, number: usize) -> PathBuf {
    let stem =
        path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let ending = path.extension().map_or_else(String::new, |e| e.to_string_lossy().into_owned());
    path.with_file_name(format!("{stem}-{number}.{ending}"))
}

/// Writes a file whole.
pub(super) fn write(path: &Path, bytes: &[u8]) -> Result<(), ShootError> {
    files::write_whole(path, bytes).map_err(|source| refused(path, source))
}

fn refused(path: &Path, source: std::io::Error) -> ShootError {
    OutputError::Write { path: path.display().to_string(), source }.into()
}

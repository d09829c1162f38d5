//! Files written whole or not at all.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use thiserror::Error;

/// Why a file was not written. The file that was there before still is.
#[derive(Debug, Error)]
pub enum WriteError {
    /// The path names a folder.
    #[error("{} is a folder; name a file in it", path.display())]
    IsFolder {
        /// The path.
        path: PathBuf,
    },
    /// The folder to write into is not there.
    #[error("the folder {} does not exist", folder.display())]
    NoFolder {
        /// The folder.
        folder: PathBuf,
    },
    /// The system refused: rights, space, a broken disk.
    #[error("cannot write {}", path.display())]
    Io {
        /// The path.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// Writes `bytes` to `path` by way of a temporary file beside it, renamed when it is
/// complete and on the disk; `-` writes to standard output.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let failed = |source| WriteError::Io { path: path.to_owned(), source };
    if path.as_os_str() == "-" {
        let mut out = io::stdout().lock();
        return out.write_all(bytes).and_then(|()| out.flush()).map_err(failed);
    }
    if path.is_dir() {
        return Err(WriteError::IsFolder { path: path.to_owned() });
    }
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    if !folder.is_dir() {
        return Err(WriteError::NoFolder { folder: folder.to_owned() });
    }
    // A file marked read-only is meant to stay, though a rename could replace it.
    if path.metadata().is_ok_and(|known| known.permissions().readonly()) {
        return Err(failed(io::ErrorKind::PermissionDenied.into()));
    }
    let mut builder = tempfile::Builder::new();
    builder.prefix(".foreshadow-");
    #[cfg(unix)]
    {
        // As a plain new file would have: all may read, less the user's mask.
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder).map_err(failed)?;
    file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(failed)?;
    file.persist(path).map(|_| ()).map_err(|error| failed(error.error))
}

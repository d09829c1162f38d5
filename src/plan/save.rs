//! Files that are there whole or not at all.

use std::io::{self, Write};
use std::path::Path;

/// Writes `bytes` to `path` through a temporary file beside it: written, synced, then renamed,
/// so that a crash or a full disk leaves the old file as it was.
pub fn atomically(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    if path.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    let mut builder = tempfile::Builder::new();
    builder.prefix(".foreshadow-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // a temporary file is private by default; a picture is an ordinary file
        let mode = path.metadata().map_or(0o644, |old| old.permissions().mode() & 0o777);
        builder.permissions(std::fs::Permissions::from_mode(mode));
    }
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn replaces_whole_files_and_leaves_nothing_beside() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.ron");
        atomically(&path, b"old").unwrap();
        atomically(&path, b"new").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"new");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        assert!(atomically(folder.path(), b"x").is_err());
        assert!(atomically(&folder.path().join("none/b.ron"), b"x").is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}

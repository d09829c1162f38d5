//! Files that are there whole or not at all.
//!
//! In: a path and bytes. Out: the file, or the system's refusal with the old file as it was.

use std::io::{self, Write};
use std::path::Path;

/// Writes `bytes` to `path` by way of a temporary file beside it: written, synced, then renamed.
///
/// # Errors
/// The system's refusal; also of a folder, and of a file marked read-only, which is meant to stay
/// though a rename could replace it.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let known = path.metadata().ok();
    if known.as_ref().is_some_and(|known| known.is_dir()) {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    if known.as_ref().is_some_and(|known| known.permissions().readonly()) {
        return Err(io::ErrorKind::PermissionDenied.into());
    }
    let mut builder = tempfile::Builder::new();
    builder.prefix(".foreshadow-").suffix(".part");
    #[cfg(unix)]
    {
        // a temporary file is private by default; this one keeps the old file's rights, or gets
        // those of a plain new file: all may read, less the user's mask
        use std::os::unix::fs::PermissionsExt;
        let mode = known.map_or(0o666, |known| known.permissions().mode() & 0o777);
        builder.permissions(std::fs::Permissions::from_mode(mode));
    }
    let mut file = builder.tempfile_in(folder_of(path))?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path).map(|_| ()).map_err(|error| error.error)
}

/// The folder a path lies in; `.` for a bare name.
pub fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn replaces_whole_files_and_leaves_nothing_beside() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.ron");
        write_whole(&path, b"old").unwrap();
        write_whole(&path, b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert!(write_whole(folder.path(), b"x").is_err());
        assert!(write_whole(&folder.path().join("none/b.ron"), b"x").is_err());

        let mut rights = fs::metadata(&path).unwrap().permissions();
        rights.set_readonly(true);
        fs::set_permissions(&path, rights).unwrap();
        let refused = write_whole(&path, b"third").unwrap_err();
        assert_eq!(refused.kind(), io::ErrorKind::PermissionDenied);
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn folders_of_paths() {
        for (path, folder) in [("a", "."), ("a/b", "a"), ("/a", "/"), ("./a", ".")] {
            assert_eq!(folder_of(Path::new(path)), Path::new(folder), "{path}");
        }
    }
}

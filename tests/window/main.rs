//! The window driven headless through its accessibility tree: by names, clicks and keys alone.

mod drive;
mod files;
mod light;

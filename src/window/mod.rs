//! The window: set light by hand and watch it settle.
//!
//! ```text
//!   document (plan, undo) ─► app ─► engine ─► picture          panel/: one file a panel, drawing only
//!        ▲                    ├───► meter ──► stop ruler       edits, entry, ruler, orbit: pure state
//!        └── edits ◄── panels ┴───► solid ──► the set          memory, watch: what outlives it
//! ```
//! Panels read the [`app::App`] and push [`act::Act`]s or edits; nothing else imports this module but
//! the command line. Work that takes time is on threads of its own (`engine`, `meter`, `solid`,
//! `jobs`, autosave); the interface only takes up what they have ready.

pub mod act;
pub mod app;
pub mod document;
pub mod edits;
pub mod engine;
pub mod entry;
pub mod frames;
pub mod jobs;
pub mod memory;
pub mod meter;
pub mod orbit;
mod panel;
pub mod reference;
pub mod ruler;
pub mod solid;
mod theme;
pub mod watch;
pub mod worker;

use std::path::PathBuf;

use eframe::egui;

/// Why no window opens.
#[derive(Debug, thiserror::Error)]
pub enum WindowError {
    /// No display, no adapter.
    #[error(
        "no window can be opened here: {problem}\n   hint: a window needs a desktop (X11 or Wayland, \
         macOS, Windows) and a graphics driver with Vulkan, Metal or DirectX 12; on Debian without a \
         graphics card, install mesa-vulkan-drivers and libvulkan1, and libxkbcommon-x11-0 for X11. \
         Every verb works without a window: foreshadow --help"
    )]
    NoDisplay {
        /// The system's words.
        problem: String,
    },
}

/// Opens the window and stays until it is closed. `plan` is a plan's file, or a still that carries
/// one; without it, the last plan is opened, or the starter.
pub fn open(plan: Option<PathBuf>) -> Result<(), WindowError> {
    let viewport = egui::ViewportBuilder::default()
        .with_title("Foreshadow")
        .with_app_id("foreshadow")
        .with_inner_size([1280.0, 720.0])
        .with_min_inner_size([900.0, 560.0])
        .with_drag_and_drop(true);
    let options = eframe::NativeOptions { viewport, ..Default::default() };
    let start = app::Start { plan, state: memory::state_folder() };
    eframe::run_native(
        "foreshadow",
        options,
        Box::new(|context| Ok(Box::new(app::App::new(&context.egui_ctx, start)))),
    )
    .map_err(|error| WindowError::NoDisplay { problem: error.to_string() })
}

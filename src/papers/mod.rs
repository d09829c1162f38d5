//! The papers of the shoot: page layout only.
//!
//! In: what is to be shown (readings, places, encoded stills). Out: [`Page`]s in millimetres, drawn as
//! SVG, PDF or PNG by [`draw`]. Nothing here traces a ray or reads a file.
//!
//! ```text
//!   stills + captions ──contact──┐
//!   stills + palette  ──board────┼──► Page ──draw──► SVG ─┬─► PDF
//!   set-up record     ──sheet────┘                         └─► PNG
//! ```

pub mod contact;
pub mod draw;
pub mod page;
pub mod palette;
pub mod sheet;
pub mod typeface;

pub use draw::DrawError;
pub use page::{Page, Paper};

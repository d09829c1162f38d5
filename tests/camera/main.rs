//! The camera from plan to picture: frame, focus, shutter and curtains, filters, stray light,
//! fall-off, development, and stills that carry their plan. One crate, so that the helpers that
//! build small sets ([`set`]) are shared.

mod filter;
mod framing;
mod levels;
mod set;
mod shutter;
mod stills;
mod stray;
mod tone;

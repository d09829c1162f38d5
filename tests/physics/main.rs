//! Physics through the renderer itself: closed forms, published tables and photographers' cases,
//! each put before the path tracer's meter, spot or picture. One crate, so that the helpers that
//! build small stages ([`set`]) are shared.

mod cases_planned;
mod cases_rendered;
mod edge;
mod energy;
mod lens;
mod measured;
mod modifier_edges;
mod modifiers;
mod on_card;
mod planned;
mod rastered;
mod room_lights;
mod rooms;
mod seeds;
mod set;
mod sheet;
mod sources;

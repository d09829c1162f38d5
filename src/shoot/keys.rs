//! What a light's layer and a set depend on, as texts that are equal while nothing has to be
//! rendered or built again. A field that is a gain at the mix is in none of them.

use serde::Serialize;
use serde_json::Value;

use crate::plan::Plan;

/// What a light's layer depends on of the light itself.
pub fn built(light: &crate::plan::Light) -> Value {
    let mut value = serde_json::to_value(light).unwrap_or_default();
    if let Some(light) = value.as_object_mut() {
        for gain in ["on", "power", "gel"] {
            light.remove(gain);
        }
        if let Some(head) = light.get_mut("head").and_then(Value::as_object_mut) {
            head.remove("kelvin");
            head.remove("lowest");
        }
    }
    value
}

/// What the slow part of a stage depends on.
pub fn set_key(plan: &Plan) -> String {
    let windows = without(&plan.windows, &["ev", "kelvin"]);
    let set = (&plan.room, windows, &plan.cloths, &plan.boxes, &plan.sitter);
    serde_json::to_string(&set).unwrap_or_default()
}

/// What a light's layer depends on: everything but gains at the mix, and the bodies of `hidden` heads.
pub fn layer_key(plan: &Plan, light: &str, hidden: &[&str], size: (u32, u32)) -> String {
    let lights: Vec<Value> = plan
        .lights
        .iter()
        .filter(|other| !hidden.contains(&other.name.as_str()))
        .map(|other| {
            let mut value = built(other);
            // of another head only its body matters
            if let Some(object) = value.as_object_mut().filter(|_| other.name != light) {
                object.remove("head");
            }
            value
        })
        .collect();
    let view = without(&plan.camera, &GAINS);
    let lamps = without(&plan.lamps, &["level", "kelvin"]);
    let room_lit = plan.ambient.is_some();
    let key = (
        (light, set_key(plan), lights, lamps),
        (&plan.boards, view, size, room_lit, plan.meter_constant),
    );
    serde_json::to_string(&key).unwrap_or_default()
}

/// What the camera does to layers that are there: no ray depends on it.
const GAINS: [&str; 10] = [
    "iso",
    "nd",
    "shutter",
    "sync",
    "curtain",
    "high_speed_sync",
    "white_balance",
    "diffusion",
    "vignetting",
    "flare",
];

/// A part of the plan, or a list of such, without some fields.
fn without(part: &impl Serialize, fields: &[&str]) -> Value {
    let mut value = serde_json::to_value(part).unwrap_or_default();
    let strip = |value: &mut Value| {
        if let Some(object) = value.as_object_mut() {
            object.retain(|name, _| !fields.contains(&name.as_str()));
        }
    };
    match &mut value {
        Value::Array(list) => list.iter_mut().for_each(strip),
        one => strip(one),
    }
    value
}

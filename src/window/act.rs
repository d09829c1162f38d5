//! Everything that can be done, with its words and its keys: menus, keys and the list of keys all
//! read this one table.

use eframe::egui::{Key, KeyboardShortcut, Modifiers};

use super::edits::Put;
use super::engine::Overlay;
use super::frames::Compare;

/// What fills the middle of the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum View {
    /// The picture through the lens.
    Picture,
    /// The set from anywhere.
    Set,
    /// Both side by side.
    #[default]
    Both,
}

/// A thing that can be done without a further word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// An empty plan.
    New,
    /// Asks for a file.
    Open,
    /// Writes the plan.
    Save,
    /// Writes it to another file.
    SaveAs,
    /// Closes the window.
    Quit,
    /// Takes the last change back.
    Undo,
    /// Does it again.
    Redo,
    /// Keeps the picture with its plan.
    Keep,
    /// Puts something up.
    Put(Put),
    /// Turns the picked light on or off.
    Switch,
    /// Copies what is picked.
    Duplicate,
    /// Mirrors it left to right.
    Mirror,
    /// Takes it away.
    Remove,
    /// Keeps it from being dragged.
    Lock,
    /// The light of this number alone.
    Alone(usize),
    /// The room's light alone.
    RoomAlone,
    /// All that is on.
    All,
    /// Plays the test series.
    Play,
    /// Chooses the middle.
    View(View),
    /// What lies over the picture.
    Overlay(Overlay),
    /// Takes the meter in hand.
    Meter,
    /// Lines in the picture.
    Grid,
    /// The compared picture on or off.
    Comparing,
    /// How it is compared.
    Compare(Compare),
    /// Loads a reference picture.
    Reference,
    /// A still to a file.
    MakeStill,
    /// A page of test frames.
    MakeSeries,
    /// The set-up sheet.
    MakeSheet,
    /// A map of stops to a file.
    MakeMap,
    /// glTF.
    MakeExport,
    /// Powers for wished readings.
    Balance,
    /// Dark or light.
    Theme,
    /// Metres or feet.
    Units,
    /// The list of keys.
    Keys,
    /// A third of a stop more or less on the picked light.
    Power(i8),
    /// The picked thing round, up, farther.
    Nudge(i8, i8, i8),
}

const NONE: Modifiers = Modifiers::NONE;
const CTRL: Modifiers = Modifiers::COMMAND;
const CTRL_SHIFT: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);
const SHIFT: Modifiers = Modifiers::SHIFT;

/// An act, its keys, and what it does in words.
pub type Row = (Act, Option<(Modifiers, Key)>, &'static str);

/// All acts that have keys or a place in a menu.
pub const TABLE: &[Row] = &[
    (Act::New, Some((CTRL, Key::N)), "New plan"),
    (Act::Open, Some((CTRL, Key::O)), "Open…"),
    (Act::Save, Some((CTRL, Key::S)), "Save"),
    (Act::SaveAs, Some((CTRL_SHIFT, Key::S)), "Save as…"),
    (Act::Quit, Some((CTRL, Key::Q)), "Quit"),
    (Act::Undo, Some((CTRL, Key::Z)), "Undo"),
    (Act::Redo, Some((CTRL_SHIFT, Key::Z)), "Redo"),
    (Act::Keep, Some((NONE, Key::K)), "Keep this frame"),
    (Act::Switch, Some((NONE, Key::Space)), "Switch on or off"),
    (Act::Duplicate, Some((CTRL, Key::D)), "Duplicate"),
    (Act::Mirror, Some((NONE, Key::X)), "Mirror left-right"),
    (Act::Lock, Some((NONE, Key::L)), "Lock in place"),
    (Act::Remove, Some((NONE, Key::Delete)), "Take away"),
    (Act::Alone(0), Some((NONE, Key::Num1)), "Light 1 alone"),
    (Act::Alone(1), Some((NONE, Key::Num2)), "Light 2 alone"),
    (Act::Alone(2), Some((NONE, Key::Num3)), "Light 3 alone"),
    (Act::Alone(3), Some((NONE, Key::Num4)), "Light 4 alone"),
    (Act::Alone(4), Some((NONE, Key::Num5)), "Light 5 alone"),
    (Act::Alone(5), Some((NONE, Key::Num6)), "Light 6 alone"),
    (Act::Alone(6), Some((NONE, Key::Num7)), "Light 7 alone"),
    (Act::Alone(7), Some((NONE, Key::Num8)), "Light 8 alone"),
    (Act::RoomAlone, Some((NONE, Key::Num9)), "Room light alone"),
    (Act::All, Some((NONE, Key::Num0)), "All lights"),
    (Act::Play, Some((NONE, Key::P)), "Play the test series"),
    (Act::View(View::Picture), Some((NONE, Key::F1)), "Picture"),
    (Act::View(View::Set), Some((NONE, Key::F2)), "Set"),
    (Act::View(View::Both), Some((NONE, Key::F3)), "Picture and set"),
    (Act::Meter, Some((NONE, Key::M)), "Meter in hand"),
    (Act::Overlay(Overlay::None), Some((NONE, Key::N)), "Plain picture"),
    (Act::Overlay(Overlay::Stops), Some((NONE, Key::O)), "Map of stops"),
    (Act::Overlay(Overlay::Clipping), Some((NONE, Key::C)), "What is clipped"),
    (Act::Grid, Some((NONE, Key::G)), "Grid and level"),
    (Act::Comparing, Some((NONE, Key::V)), "Compare on or off"),
    (Act::Compare(Compare::Beside), None, "Side by side"),
    (Act::Compare(Compare::Wipe), Some((NONE, Key::W)), "Wipe"),
    (Act::Compare(Compare::Over), None, "Overlay"),
    (Act::Compare(Compare::Difference), Some((NONE, Key::D)), "Difference in stops"),
    (Act::Reference, Some((NONE, Key::R)), "Reference picture…"),
    (Act::MakeStill, Some((CTRL, Key::E)), "Still…"),
    (Act::MakeSeries, None, "Test series…"),
    (Act::MakeSheet, Some((CTRL, Key::P)), "Set-up sheet…"),
    (Act::MakeMap, None, "Map of stops…"),
    (Act::MakeExport, None, "Stage for 3D programs…"),
    (Act::Balance, Some((CTRL, Key::B)), "Balance powers…"),
    (Act::Theme, Some((CTRL, Key::T)), "Dark or light theme"),
    (Act::Units, Some((CTRL, Key::U)), "Metres or feet"),
    (Act::Keys, Some((NONE, Key::F12)), "Keys"),
    (Act::Power(1), Some((NONE, Key::ArrowUp)), "Power a third up"),
    (Act::Power(-1), Some((NONE, Key::ArrowDown)), "Power a third down"),
    (Act::Nudge(-1, 0, 0), Some((NONE, Key::ArrowLeft)), "Round to the left"),
    (Act::Nudge(1, 0, 0), Some((NONE, Key::ArrowRight)), "Round to the right"),
    (Act::Nudge(0, 1, 0), Some((SHIFT, Key::ArrowUp)), "Higher"),
    (Act::Nudge(0, -1, 0), Some((SHIFT, Key::ArrowDown)), "Lower"),
    (Act::Nudge(0, 0, -1), Some((SHIFT, Key::ArrowLeft)), "Nearer"),
    (Act::Nudge(0, 0, 1), Some((SHIFT, Key::ArrowRight)), "Farther"),
];

/// The words of an act.
pub fn words(act: Act) -> &'static str {
    TABLE.iter().find(|row| row.0 == act).map_or("", |row| row.2)
}

/// Its keys.
pub fn keys(act: Act) -> Option<KeyboardShortcut> {
    let row = TABLE.iter().find(|row| row.0 == act)?;
    row.1.map(|(modifiers, key)| KeyboardShortcut::new(modifiers, key))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_acts_share_a_key() {
        for (at, row) in TABLE.iter().enumerate() {
            assert!(!row.2.is_empty());
            for other in &TABLE[at + 1..] {
                assert!(row.1.is_none() || row.1 != other.1, "{} and {}", row.2, other.2);
                assert_ne!(row.0, other.0);
            }
        }
    }
}

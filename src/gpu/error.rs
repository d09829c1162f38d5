//! Why the graphics card cannot be used, and what would help.

use thiserror::Error;

/// A graphics card that is missing, full or gone.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum GpuError {
    /// Nothing to run on.
    #[error(
        "no graphics card with a Vulkan, Metal or Direct3D 12 driver was found\n   hint: install the card's \
         driver; on Debian and Ubuntu `apt install libvulkan1 mesa-vulkan-drivers` brings drivers for \
         most cards and a software one that runs anywhere; or use --device cpu"
    )]
    NoAdapter,
    /// The user's choice is not there.
    #[error("no graphics card is called {wanted:?}; there are {}", known.join(", "))]
    NoSuchAdapter {
        /// What was asked for.
        wanted: String,
        /// What there is.
        known: Vec<String>,
    },
    /// The driver will not start.
    #[error(
        "the graphics card {name} cannot be used: {reason}\n   hint: renew its driver, or use --device cpu"
    )]
    Refused {
        /// The card.
        name: String,
        /// In the driver's words.
        reason: String,
    },
    /// More than one buffer can hold.
    #[error(
        "{what} takes {megabytes} MB, and {name} takes at most {most_megabytes} MB in one piece\n   hint: use a \
         smaller size or fewer lights, or --device cpu"
    )]
    TooLarge {
        /// The card.
        name: String,
        /// What it is.
        what: String,
        /// Asked for.
        megabytes: u64,
        /// What the card has.
        most_megabytes: u64,
    },
    /// Too many of something that shaders hold a fixed count of.
    #[error(
        "{count} {what} are too many for the graphics card, at most {most}\n   hint: use fewer, or --device cpu"
    )]
    TooMany {
        /// Of what.
        what: &'static str,
        /// How many.
        count: usize,
        /// How many can be.
        most: usize,
    },
    /// Memory ran out.
    #[error(
        "the graphics card {name} is out of memory\n   hint: use a smaller size or fewer lights, close other programs, or use --device cpu"
    )]
    OutOfMemory {
        /// The card.
        name: String,
    },
    /// The card went away.
    #[error(
        "the graphics card {name} was lost: {reason}\n   hint: try again; if it happens again, renew its driver or use --device cpu"
    )]
    Lost {
        /// The card.
        name: String,
        /// In the driver's words.
        reason: String,
    },
    /// Ours.
    #[error("a fault of this program on the graphics card {name}: {reason}")]
    Fault {
        /// The card.
        name: String,
        /// What was wrong.
        reason: String,
    },
}

//! Where a light leaves its head: shape, beam, level.

use glam::Vec3;

use crate::optics::beam::Beam;

/// An emitting front with its beam.
#[derive(Debug, Clone)]
pub struct Source {
    /// Shape of the emitting front.
    pub shape: SourceShape,
    /// Centre of the front.
    pub position: Vec3,
    /// Unit vector along the beam's axis.
    pub axis: Vec3,
    /// Unit vector across, to the head's right.
    pub right: Vec3,
    /// Unit vector up the front.
    pub up: Vec3,
    /// Angular distribution (a tube is Lambertian all over and ignores it).
    pub beam: Beam,
    /// Axial luminous intensity at full power: cd·s for a flash, cd for a continuous light.
    /// For a tube: across its length.
    pub axial_intensity: f64,
}

/// Shapes of emitting fronts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SourceShape {
    /// A round front.
    Disc {
        /// Metres.
        radius_m: f64,
    },
    /// A rectangular front.
    Rectangle {
        /// Along `right`, metres.
        width_m: f64,
        /// Along `up`, metres.
        height_m: f64,
    },
    /// A tube along `axis`, centred on `position`, that emits all round.
    Tube {
        /// Metres.
        radius_m: f64,
        /// Metres.
        length_m: f64,
    },
}

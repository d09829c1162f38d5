//! Joint angles, their published limits, and the matrices they mean.
//!
//! In: angles in degrees, as a physiotherapist writes them. Out: rotation matrices between bones,
//! and a list of what had to be held back. Limits: American Academy of Orthopaedic Surgeons'
//! ranges as tabulated with Boone & Azen; hip, knee, ankle, neck and back are from memory and
//! marked so in the reference table they were taken from.

use glam::{Mat3, Vec3};

use super::skeleton::sign;

/// A bend of neck or back in degrees, as in the plan: `rotation` + to camera right, `lateral` +
/// leans the top to camera right, `flexion` + forward.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bend {
    /// Forward.
    pub flexion: f32,
    /// Toward +x.
    pub lateral: f32,
    /// Turn of the front toward +x.
    pub rotation: f32,
}

impl Bend {
    /// The bend by a share of each angle.
    pub fn scaled(&self, share: f32) -> Self {
        Self {
            flexion: self.flexion * share,
            lateral: self.lateral * share,
            rotation: self.rotation * share,
        }
    }

    /// Child from parent axes: turn, then nod, then lean.
    pub fn matrix(&self) -> Mat3 {
        Mat3::from_rotation_y(self.rotation.to_radians())
            * Mat3::from_rotation_x(self.flexion.to_radians())
            * Mat3::from_rotation_z(-self.lateral.to_radians())
    }
}

/// A ball joint of a limb in degrees, in the limb's own sense: `abduction` away from the body's
/// middle, `medial` turns its front inward.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Swing {
    /// Forward.
    pub flexion: f32,
    /// Sideways out.
    pub abduction: f32,
    /// Inward turn about the limb.
    pub medial: f32,
}

impl Swing {
    /// The limb's axes seen from its parent.
    pub fn matrix(&self, side: usize) -> Mat3 {
        let s = sign(side);
        Mat3::from_rotation_x(-self.flexion.to_radians())
            * Mat3::from_rotation_z(s * self.abduction.to_radians())
            * Mat3::from_rotation_y(-s * self.medial.to_radians())
    }

    /// The angles that give `turn`.
    pub fn of_matrix(turn: &Mat3, side: usize) -> Self {
        let s = sign(side);
        let y = turn.y_axis;
        let (flexion, abduction) = (-y.z.atan2(y.y), s * -y.x.clamp(-1.0, 1.0).asin());
        let swing =
            Self { flexion: flexion.to_degrees(), abduction: abduction.to_degrees(), medial: 0.0 };
        let rest = swing.matrix(side).transpose() * *turn;
        Self { medial: (-s * rest.z_axis.x.atan2(rest.z_axis.z)).to_degrees(), ..swing }
    }
}

/// An arm in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Arm {
    /// Lift of the collar bone.
    pub shrug: f32,
    /// Shoulder.
    pub shoulder: Swing,
    /// Elbow, 0 straight.
    pub elbow: f32,
    /// Forearm: + palm back or down, from palm toward the body.
    pub pronation: f32,
    /// Wrist toward the palm.
    pub wrist: f32,
    /// Wrist toward the thumb.
    pub radial: f32,
    /// How far the fingers curl: 0 flat, 1 a loose fist.
    pub curl: f32,
}

impl Arm {
    /// The hand's axes seen from the forearm.
    pub fn hand_matrix(&self, side: usize) -> Mat3 {
        let s = sign(side);
        Mat3::from_rotation_y(-s * self.pronation.to_radians())
            * Mat3::from_rotation_z(-s * self.wrist.to_radians())
            * Mat3::from_rotation_x(-self.radial.to_radians())
    }

    /// Turns the hand, as seen from the forearm, to `turn`.
    pub fn set_hand(&mut self, turn: &Mat3, side: usize) {
        let s = sign(side);
        let x = turn.x_axis;
        self.pronation = (-s * (-x.z).atan2(x.x)).to_degrees();
        self.wrist = (-s * x.y.clamp(-1.0, 1.0).asin()).to_degrees();
        self.radial = 0.0;
        let rest = self.hand_matrix(side).transpose() * *turn;
        self.radial = (-rest.y_axis.z.atan2(rest.y_axis.y)).to_degrees();
    }
}

/// An ankle in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ankle {
    /// Toes up.
    pub dorsiflexion: f32,
    /// Turn about the shank, toes toward +x.
    pub yaw: f32,
    /// Roll of the sole toward +x.
    pub roll: f32,
}

impl Ankle {
    /// The foot's axes seen from the shank.
    pub fn matrix(&self) -> Mat3 {
        Mat3::from_rotation_x(-self.dorsiflexion.to_radians())
            * Mat3::from_rotation_z(self.roll.to_radians())
            * Mat3::from_rotation_y(self.yaw.to_radians())
    }

    /// The angles that give `turn`.
    pub fn of_matrix(turn: &Mat3) -> Self {
        let y = turn.y_axis;
        let ankle = Self {
            dorsiflexion: (-y.z.atan2(y.y)).to_degrees(),
            roll: (-y.x.clamp(-1.0, 1.0)).asin().to_degrees(),
            yaw: 0.0,
        };
        let rest = ankle.matrix().transpose() * *turn;
        Self { yaw: rest.z_axis.x.atan2(rest.z_axis.z).to_degrees(), ..ankle }
    }
}

/// A leg in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Leg {
    /// Hip.
    pub hip: Swing,
    /// Knee, 0 straight.
    pub knee: f32,
    /// Ankle.
    pub ankle: Ankle,
}

/// All joints; sided ones left (+x) first.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Angles {
    /// Back, from pelvis to chest.
    pub spine: Bend,
    /// Neck, from chest to head.
    pub neck: Bend,
    /// Arms.
    pub arms: [Arm; 2],
    /// Legs.
    pub legs: [Leg; 2],
}

impl Angles {
    /// Holds every joint inside its range; says in a photographer's words what was held back.
    pub fn hold(&mut self) -> Vec<String> {
        let mut notes = Vec::new();
        for (name, value, low, high) in self.limits() {
            let held = value.clamp(low, high);
            if (*value - held).abs() > 0.05 {
                notes.push(format!(
                    "{name} asked for {value:.0}°, held at {held:.0}° (range {low:.0} to {high:.0})"
                ));
                *value = held;
            }
        }
        notes
    }

    /// Every angle with its name and range.
    fn limits(&mut self) -> Vec<(String, &mut f32, f32, f32)> {
        let mut all = Vec::new();
        let mut add =
            |name: &str, value, low: f32, high: f32| all.push((name.to_string(), value, low, high));
        add("back flexion", &mut self.spine.flexion, -30.0, 80.0);
        add("back lean", &mut self.spine.lateral, -35.0, 35.0);
        add("back turn", &mut self.spine.rotation, -45.0, 45.0);
        add("head nod", &mut self.neck.flexion, -45.0, 45.0);
        add("head tilt", &mut self.neck.lateral, -45.0, 45.0);
        add("head turn", &mut self.neck.rotation, -60.0, 60.0);
        for (side, arm) in ["left", "right"].iter().zip(&mut self.arms) {
            let mut add =
                |name: &str, value, low, high| add(&format!("{side} {name}"), value, low, high);
            add("shrug", &mut arm.shrug, -5.0, 40.0);
            add("shoulder flexion", &mut arm.shoulder.flexion, -60.0, 180.0);
            add("shoulder abduction", &mut arm.shoulder.abduction, -40.0, 180.0);
            add("shoulder rotation", &mut arm.shoulder.medial, -90.0, 70.0);
            add("elbow", &mut arm.elbow, 0.0, 150.0);
            add("forearm pronation", &mut arm.pronation, -80.0, 80.0);
            add("wrist", &mut arm.wrist, -70.0, 80.0);
            add("wrist deviation", &mut arm.radial, -30.0, 20.0);
        }
        for (side, leg) in ["left", "right"].iter().zip(&mut self.legs) {
            let mut add =
                |name: &str, value, low, high| add(&format!("{side} {name}"), value, low, high);
            add("hip flexion", &mut leg.hip.flexion, -20.0, 120.0);
            add("hip abduction", &mut leg.hip.abduction, -30.0, 45.0);
            add("hip rotation", &mut leg.hip.medial, -45.0, 45.0);
            add("knee", &mut leg.knee, 0.0, 135.0);
            add("ankle", &mut leg.ankle.dorsiflexion, -50.0, 20.0);
        }
        all
    }
}

/// Bends a two-bone limb so that its end reaches `target` (or as near as it can) with its middle
/// joint toward `pole`. Returns the upper bone's world axes and the middle joint's bend in degrees.
/// `front` is +1 where the lower bone bends backward (knee), −1 where forward (elbow).
pub fn reach(root: Vec3, target: Vec3, pole: Vec3, lengths: [f32; 2], front: f32) -> (Mat3, f32) {
    let [upper, lower] = lengths;
    let chord = target - root;
    let span = chord.length().clamp((upper - lower).abs() + 1e-3, (upper + lower) * 0.9995);
    let along = chord.normalize_or(Vec3::NEG_Y);
    let out = (pole - along * pole.dot(along)).normalize_or(along.any_orthonormal_vector());
    let cos_root = (upper * upper + span * span - lower * lower) / (2.0 * upper * span);
    let a = cos_root.clamp(-1.0, 1.0).acos();
    let cos_mid = (upper * upper + lower * lower - span * span) / (2.0 * upper * lower);
    let bend = 180.0 - cos_mid.clamp(-1.0, 1.0).acos().to_degrees();
    let down = along * a.cos() + out * a.sin();
    let z = (out * a.cos() - along * a.sin()) * front;
    let y = -down;
    (Mat3::from_cols(y.cross(z), y, z), bend)
}

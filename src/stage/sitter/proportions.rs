//! Body measures for a sitter, from a published survey.
//!
//! In: stature, build and proportion. Out: [`Proportions`] in metres. Means are those of ANSUR II
//! (US Army Natick TR-15/007, 2012 survey: 4082 men, 1986 women), mixed by `proportion`; lengths
//! follow stature, head measures follow it weakly, girths follow build.

/// Measures in metres; names as in the survey unless said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proportions {
    /// Crown above the floor.
    pub stature: f32,
    /// 0 female, 1 male.
    pub male: f32,
    /// −1 slim to +1 heavy.
    pub build: f32,
    /// Crown above a hard seat.
    pub sitting_height: f32,
    /// Tip of the shoulder above the floor.
    pub acromial_height: f32,
    /// Seventh neck vertebra above the floor.
    pub cervicale_height: f32,
    /// Notch over the breastbone above the floor.
    pub suprasternale_height: f32,
    /// Hip joint's side bone above the floor.
    pub trochanter_height: f32,
    /// Knee cap above the floor.
    pub knee_height: f32,
    /// Outer ankle bone above the floor.
    pub ankle_height: f32,
    /// Between the shoulder tips.
    pub biacromial: f32,
    /// Across the deltoids.
    pub bideltoid: f32,
    /// Chest without arms.
    pub chest_breadth: f32,
    /// Chest, front to back.
    pub chest_depth: f32,
    /// Waist at the navel.
    pub waist_breadth: f32,
    /// Waist, front to back.
    pub waist_depth: f32,
    /// Hips.
    pub hip_breadth: f32,
    /// Buttocks, front to back.
    pub buttock_depth: f32,
    /// Shoulder tip to the head of the radius.
    pub acromion_radiale: f32,
    /// Head of the radius to the wrist.
    pub radiale_stylion: f32,
    /// Hand.
    pub hand_length: f32,
    /// Hand across the knuckles.
    pub hand_breadth: f32,
    /// Foot.
    pub foot_length: f32,
    /// Foot across the ball.
    pub foot_breadth: f32,
    /// Girths.
    pub neck_girth: f32,
    /// Upper thigh.
    pub thigh_girth: f32,
    /// Calf.
    pub calf_girth: f32,
    /// Ankle.
    pub ankle_girth: f32,
    /// Upper arm, bent.
    pub biceps_girth: f32,
    /// Forearm, bent.
    pub forearm_girth: f32,
    /// Wrist.
    pub wrist_girth: f32,
    /// Glabella to the back of the head.
    pub head_length: f32,
    /// Over the ears.
    pub head_breadth: f32,
    /// Across the cheek arches.
    pub bizygomatic: f32,
    /// Root of the nose to the chin's underside.
    pub sellion_menton: f32,
    /// Ear canal's front to the crown.
    pub tragion_top: f32,
    /// Between the pupils.
    pub interpupillary: f32,
}

/// Survey means in millimetres, men then women.
const STATURE_MM: [f32; 2] = [1756.21, 1628.47];

impl Proportions {
    /// Measures for a stature in metres, build −1 to 1 and proportion 0 to 1.
    pub fn of(stature: f32, build: f32, male: f32) -> Self {
        let mix = |men_women: [f32; 2]| men_women[1] + (men_women[0] - men_women[1]) * male;
        let tall = stature * 1000.0 / mix(STATURE_MM);
        let length = |mm: [f32; 2]| mix(mm) * 1e-3 * tall;
        // Heads vary little with stature: within-sex correlation is about 0.3 to 0.4 (from
        // memory), so the exponent is small.
        let head = |mm: [f32; 2]| mix(mm) * 1e-3 * tall.powf(0.35);
        // A full build step is about 1.2 of the survey's standard deviations.
        let girth =
            |mm: [f32; 2], sd: [f32; 2]| (mix(mm) + 1.2 * build * mix(sd)) * 1e-3 * tall.sqrt();
        Self {
            stature,
            male,
            build,
            sitting_height: length([918.29, 856.63]),
            acromial_height: length([1440.74, 1335.10]),
            cervicale_height: length([1517.30, 1395.67]),
            suprasternale_height: length([1438.59, 1329.69]),
            trochanter_height: length([900.93, 845.35]),
            knee_height: length([488.39, 449.05]),
            ankle_height: length([72.9, 62.75]),
            biacromial: length([415.68, 365.35]),
            bideltoid: girth([510.42, 450.32], [32.51, 28.69]),
            chest_breadth: girth([289.44, 269.33], [18.28, 18.58]),
            chest_depth: girth([253.85, 247.40], [26.25, 27.34]),
            waist_breadth: girth([326.44, 299.89], [34.74, 32.96]),
            waist_depth: girth([237.77, 213.03], [34.73, 31.37]),
            hip_breadth: girth([345.73, 353.84], [24.17, 26.67]),
            buttock_depth: girth([245.85, 232.93], [26.46, 24.33]),
            acromion_radiale: length([335.24, 311.20]),
            radiale_stylion: length([267.88, 241.33]),
            hand_length: length([193.28, 181.08]),
            hand_breadth: length([88.26, 78.15]),
            foot_length: length([271.18, 246.29]),
            foot_breadth: length([101.86, 92.71]),
            neck_girth: girth([397.65, 329.80], [25.78, 19.22]),
            thigh_girth: girth([625.14, 616.15], [58.45, 55.81]),
            calf_girth: girth([392.26, 373.26], [29.71, 28.52]),
            ankle_girth: girth([229.34, 215.74], [14.65, 14.89]),
            biceps_girth: girth([358.14, 305.58], [34.62, 30.76]),
            forearm_girth: girth([310.06, 264.08], [21.99, 18.52]),
            wrist_girth: girth([175.92, 154.79], [8.96, 7.83]),
            head_length: head([199.50, 189.82]),
            head_breadth: head([154.33, 147.77]),
            bizygomatic: head([142.62, 133.77]),
            sellion_menton: head([122.64, 113.09]),
            tragion_top: head([131.15, 126.48]),
            interpupillary: head([64.016, 61.708]),
        }
    }
}

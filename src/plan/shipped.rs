//! The plans that come with the program.

/// A plan that ships.
#[derive(Debug, Clone, Copy)]
pub struct Shipped {
    /// Its name, which is its file's in `scenes/`.
    pub name: &'static str,
    /// The file's text.
    pub text: &'static str,
}

impl Shipped {
    /// The first line of its opening comment: what it teaches.
    pub fn teaches(&self) -> &'static str {
        self.text.lines().next().unwrap_or_default().trim_start_matches('/').trim()
    }
}

/// All of them, the starter first.
pub const SHIPPED: &[Shipped] = &[
    Shipped { name: "lamplighter", text: include_str!("../../scenes/lamplighter.ron") },
    Shipped { name: "quarryman", text: include_str!("../../scenes/quarryman.ron") },
    Shipped { name: "night-ferry", text: include_str!("../../scenes/night-ferry.ron") },
    Shipped { name: "attic", text: include_str!("../../scenes/attic.ron") },
];

/// The shipped plan called `name`.
pub fn find(name: &str) -> Option<&'static Shipped> {
    SHIPPED.iter().find(|shipped| shipped.name == name)
}

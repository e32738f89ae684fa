//! Layer 5: the dial's part of the photo against the reference face in the photo's own light: what is left is the needle.
mod bare;
mod evidence;
mod light;
mod under;
mod work;
pub use bare::Bare;
pub use evidence::{Evidence, Pixel};
pub use light::Light;
pub use work::Work;

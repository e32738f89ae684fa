//! Layer 5: the dial's part of the photo against the reference face in the photo's own model: what is left is the needle.
mod evidence;
mod inpainted;
mod needle_axis;
mod paint;
mod photometric;
mod under;
mod work;
pub use evidence::{Evidence, Pixel};
pub use inpainted::InpaintedReference;
pub use photometric::PhotometricModel;
pub use work::Work;

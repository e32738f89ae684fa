//! Results as pictures: one drawing path, vector graphics over the photo.
mod banner;
mod canvas;
mod check_picture;
mod cut_from;
mod error;
mod face;
mod overlay;
mod palette;
mod rectified;
mod side_by_side;
pub mod svg;
mod view;
pub use canvas::Picture;
pub use check_picture::check_picture;
pub use error::PictureError;
pub use overlay::{overlay, overlay_png};
pub use side_by_side::{Shown, side_by_side};
pub use view::View;

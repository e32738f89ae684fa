//! Results as pictures: one drawing path, vector graphics over the photo.
mod axes;
mod banner;
mod canvas;
mod check_picture;
mod cut_from;
mod error;
mod face;
mod figure;
mod letters;
mod look;
mod numbers;
mod overlay;
mod palette;
mod plot;
mod raster;
mod rectified;
mod run;
mod scale_picture;
mod series;
mod shape;
mod side_by_side;
mod sketch;
mod stages;
pub mod svg;
mod ticks_picture;
mod times;
mod view;
#[cfg(feature = "page")]
mod whole;
pub(in crate::output) use banner::shortened;
pub use canvas::Picture;
pub use check_picture::check_picture;
#[cfg(feature = "page")]
pub(in crate::output) use cut_from::cut_from;
pub use error::PictureError;
pub use overlay::{overlay, overlay_against, overlay_png, overlay_png_against, overlay_wordless};
pub use plot::{plot_png, plot_svg};
pub(in crate::output) use run::run_inline;
pub use scale_picture::scale_picture;
pub use side_by_side::{Shown, side_by_side};
pub use sketch::sketch;
pub(in crate::output) use sketch::sketch_drawn;
pub use stages::{stages_inline, stages_png};
pub use ticks_picture::ticks_picture;
pub(in crate::output) use times::{TimePlot, times_inline};
pub use view::View;
#[cfg(feature = "page")]
pub(crate) use whole::whole_jpeg;

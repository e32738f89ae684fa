//! What can go wrong while a picture is drawn.

/// A picture that could not be drawn. The readings are not touched by it.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PictureError {
    /// No pixels.
    #[error("there are no pixels to draw on, so no picture was made; check that the photo opens in a viewer")]
    Empty,
    /// A font that cannot be read, or a colour that is none.
    #[error("the drawing could not be rendered ({0}); this is a fault of the program, the readings stand")]
    Drawing(String),
    /// The picture could not be encoded.
    #[error("the picture could not be encoded ({0}); the readings stand")]
    Encoding(String),
}

//! Where is this dial in this photo?

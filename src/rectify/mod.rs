//! The dial frame samples the photo through the homography on demand.

//! Needle direction with covariance.

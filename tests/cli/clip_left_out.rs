//! A clip given to a build without the feature `video`.
use super::{command, contains};

#[test]
fn a_clip_is_refused_with_the_way_out() {
    let path = "tests/data/clips/hevc.mov";
    let said = command().args(["settle", "--dial", "calibration/gearbox-oil.json", path]).assert().code(2);
    said.stderr(contains("is a video clip"))
        .stderr(contains("made without the feature"))
        .stderr(contains(format!("ffmpeg -i {path} -vf fps=1/10 frames/%04d.jpg")))
        .stderr(contains("--every 10s"))
        .stderr(contains("--features video"));
}

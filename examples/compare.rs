//! Is it cooler than before? `cargo run --release --example compare calibration/gearbox-oil.json samples/gearbox-oil/before/1.jpg
//! samples/gearbox-oil/after/1.jpg`
use needleband::compare::compare;
use needleband::{dial, photo, reading::Reader};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let [dial_file, before, after] =
        std::env::args().skip(1).collect::<Vec<_>>().try_into().map_err(|_| "give a dial file, a photo from before and one from after")?;
    let reader = Reader::new(dial::from_bytes(&std::fs::read(dial_file)?)?);
    let read = |file: String| Ok::<_, Box<dyn std::error::Error>>(reader.read(&photo::decode(&std::fs::read(file)?)?));
    // what both photos share (the marks, the gauge's accuracy at like places) cancels, so the change is known better than either
    let change = compare(&[read(before)?], &[read(after)?])?;
    println!("{:.2}, 95 % band {:.2} to {:.2} °{:?}", change.delta.value(), change.delta.band().0, change.delta.band().1, change.unit);
    Ok(())
}

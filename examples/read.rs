//! A photo to a temperature: `cargo run --release --example read calibration/gearbox-oil.json samples/gearbox-oil/before/1.jpg`
use needleband::{dial, photo, reading::Outcome, reading::Reader};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let [dial_file, photo_file] = std::env::args().skip(1).collect::<Vec<_>>().try_into().map_err(|_| "give a dial file and a photo")?;
    let reader = Reader::new(dial::from_bytes(&std::fs::read(dial_file)?)?);
    let record = reader.read(&photo::decode(&std::fs::read(photo_file)?)?);
    match record.outcome {
        Outcome::Reading(r) => {
            println!("{:.2}, 95 % band {:.2} to {:.2} °{:?}", r.temperature.value(), r.temperature.band().0, r.temperature.band().1, r.unit)
        }
        Outcome::Refused(reason, seen) => println!("not read: {seen} {}", reason.advice()),
        Outcome::BelowScale | Outcome::AboveScale => println!("the needle stands beyond the scale"),
    }
    Ok(())
}

//! The dial files, the script that makes them and the commands shown are one and the same.
use super::{hold, printed, text};
use needleband::dial::from_bytes;
use needleband::photo::sha256_hex;

/// A command line as the shell splits it: words, with double quotes round those that hold spaces.
fn words(command: &str) -> Vec<String> {
    let parts = command.split('"').enumerate();
    parts
        .flat_map(|(i, part)| match i % 2 {
            0 => part.split_whitespace().filter(|w| *w != "\\").map(String::from).collect(),
            _ => vec![part.to_string()],
        })
        .collect()
}

/// The calibrate commands of a text up to their outputs: "calibrate", the photo, what fixes the dial.
fn calibrations(path: &str) -> Vec<Vec<String>> {
    let text = text(path);
    let commands = text.split("calibrate samples/").skip(1);
    commands.map(|c| words(&format!("calibrate samples/{}", c.split("--out").next().unwrap()))).collect()
}

/// The dial's name: the folder of its sample.
fn name(command: &[String]) -> &str {
    command[1].split('/').nth(1).unwrap()
}

#[test]
fn the_marks_in_the_samples_readme_are_those_of_the_script() {
    let done = calibrations("calibration/make.sh");
    assert_eq!(calibrations("samples/README.md"), done);
    assert_eq!(done.len(), 4);
    assert!(done.iter().all(|c| c.iter().filter(|w| w.contains('@')).count() >= 3), "{done:?}");
}

#[test]
fn every_dial_file_is_what_the_script_makes_of_its_sample() {
    let folder = tempfile::TempDir::new().unwrap();
    for command in calibrations("calibration/make.sh") {
        let name = name(&command);
        let dial = from_bytes(&std::fs::read(format!("calibration/{name}.json")).unwrap()).unwrap();
        assert_eq!(dial.reference, sha256_hex(&std::fs::read(&command[1]).unwrap()), "{name}");
        let out = folder.path().join(format!("{name}.json"));
        let whole: Vec<&str> = command.iter().map(String::as_str).chain(["--out", out.to_str().unwrap()]).collect();
        printed(&whole);
        let made = from_bytes(&std::fs::read(&out).unwrap()).unwrap();
        assert_eq!((&made.name, made.unit, made.marks.len()), (&dial.name, dial.unit, dial.marks.len()), "{name}");
        for (a, b) in made.marks.iter().zip(&dial.marks) {
            // another processor may round last digits another way, which moves an angle by far less than a thousandth of a degree;
            // a change of the calibration that matters to anyone moves it by more
            assert!(a.value == b.value && (a.angle - b.angle).abs() < 1e-3, "{name} at {}: run calibration/make.sh", a.value);
        }
    }
}

#[test]
fn the_calibration_in_the_readme_is_what_the_program_prints() {
    let folder = tempfile::TempDir::new().unwrap();
    let out = folder.path().join("cluster-coolant.json");
    let commands = calibrations("samples/README.md");
    let command = commands.iter().find(|c| name(c) == "cluster-coolant").unwrap();
    let whole: Vec<&str> = command.iter().map(String::as_str).chain(["--out", out.to_str().unwrap()]).collect();
    let said = printed(&whole);
    let (said, files) = said.split_once("\nDial file: ").unwrap();
    assert!(files.contains("cluster-coolant-check.png"));
    hold("calibrate", &format!("```text\n{said}```\n"));
}

//! What the command says of itself, kept as texts in `tests/snapshots`: every help and the main errors. `REGENERATE=1` writes them and
//! fails the run.
use super::{Desk, command, contains};
use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// All commands.
pub const COMMANDS: [&str; 16] = [
    "start",
    "use",
    "calibrate",
    "ticks",
    "refine",
    "check",
    "read",
    "view",
    "leave-out",
    "compare",
    "settle",
    "plan",
    "note",
    "stages",
    "report",
    "manual",
];

fn hold(name: &str, said: &str) {
    let path = PathBuf::from("tests/snapshots").join(name);
    let kept = fs::read_to_string(&path).unwrap_or_default();
    if kept != said && std::env::var("REGENERATE").is_ok() {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, said).unwrap();
        panic!("{} was written anew; look at it and run again", path.display());
    }
    assert_eq!(kept, said, "{}; run once with REGENERATE=1", path.display());
}

/// The help of a command at a width of 100 columns.
fn help(words: &[&str]) -> String {
    let done = command().args(words).arg("--help").env("COLUMNS", "100").assert().code(0).stderr("");
    String::from_utf8(done.get_output().stdout.clone()).unwrap()
}

#[test]
fn the_help_of_every_command_is_the_kept_one() {
    let whole = help(&[]);
    // a new command is not forgotten here
    let listed: Vec<&str> = whole
        .split("Commands:\n")
        .nth(1)
        .unwrap()
        .split("\n\n")
        .next()
        .unwrap()
        .lines()
        .filter_map(|l| l.split_whitespace().next())
        .collect();
    COMMANDS.iter().for_each(|c| assert!(listed.contains(c), "{c}"));
    let mut missing: Vec<&str> = listed.into_iter().filter(|c| !COMMANDS.contains(c) && *c != "help").collect();
    // words of a wrapped line begin in lower case too; only those that answer as commands count
    missing.retain(|c| command().args([c, "--help"]).output().unwrap().status.success());
    assert_eq!(missing, Vec::<&str>::new());
    hold("help/needleband.txt", &whole);
    for name in COMMANDS {
        let text = help(&[name]);
        assert!(text.contains("Example") && text.contains(&format!("needleband {name} ")), "{name} has no example");
        assert!(!text.contains("\\\""), "{name}: a quote with the source's backslash");
        hold(&format!("help/{name}.txt"), &text);
    }
}

#[test]
fn the_main_errors_are_the_kept_ones() {
    let desk = Desk::new();
    fs::create_dir(desk.path("bare")).unwrap();
    fs::write(desk.path("text.json"), "no dial").unwrap();
    fs::write(desk.path("d.jsonl"), "# notes\n").unwrap();
    let runs: [&[&str]; 16] = [
        &["guess"],
        &["calibrate", "photos/b.png", "--out", "x.json"],
        &["read", "--dail", "oil.json", "photos"],
        &["read", "--dial", "gone.json", "photos"],
        &["read", "--dial", "text.json", "photos"],
        &["read", "--dial", "oil.json", "gone.jpg"],
        &["read", "--dial", "oil.json", "bare"],
        &["read", "--dial", "oil.json", "photos", "--limit", "120"],
        &["calibrate", "photos/b.png", "--unit", "K", "--mark", "1@2,3", "--out", "x.json"],
        &["calibrate", "photos/b.png", "--unit", "C", "--mark", "80", "--out", "x.json"],
        &["calibrate", "photos/b.png", "--unit", "C", "--mark", "40@1,2", "--mark", "80@3,4", "--out", "oil.json"],
        &["compare", "--dial", "oil.json", "--before", "photos/b.png", "--after", "photos/a.jpg"],
        &["settle", "--dial", "oil.json", "photos/b.png", "--every", "10"],
        &["plan", "--dial", "oil.json", "--drop", "0C"],
        &["stages", "--diary", "d.jsonl"],
        &["report", "--diary", "d.jsonl", "--out", "x.txt"],
    ];
    let mut all = String::new();
    for words in runs {
        let done = command().current_dir(desk.dir.path()).env("COLUMNS", "100").args(words).output().unwrap();
        let said = String::from_utf8(done.stderr).unwrap();
        assert!(said.starts_with("needleband: ") && said.ends_with(".\n"), "{words:?}: {said}");
        all += &format!("$ needleband {}\n{said}exit status {}\n\n", words.join(" "), done.status.code().unwrap());
    }
    hold("errors.txt", &all);
}

/// What was typed wrong is one sentence on one line, and it ends with how it is written or where to look.
#[test]
fn a_usage_error_is_one_sentence() {
    let runs: [(&[&str], &str); 11] = [
        (&["guess"], "needleband --help shows what can be typed."),
        (&["calibrat"], "(a similar subcommand exists: 'calibrate'); needleband --help shows what can be typed."),
        (&["read"], "were not provided: <PHOTO|FOLDER|->...; needleband read --help shows what can be typed."),
        (
            &["compare"],
            "--before <PHOTO|FOLDER|-|JSON>..., --after <PHOTO|FOLDER|-|JSON>...; needleband compare --help shows what can be typed.",
        ),
        (&["read", "--nope", "x.jpg"], "Unexpected argument '--nope' found; needleband read --help shows what can be typed."),
        (&["read", "--json", "--csv", "x.jpg"], "needleband read --help shows what can be typed."),
        (&["plan", "--drop", "5C", "--drop", "6C"], "needleband plan --help shows what can be typed."),
        (
            &["calibrate", "x.png", "--unit", "kelvin per minute", "--out", "x.json"],
            "like bar or rpm; needleband calibrate --help shows what can be typed.",
        ),
        (&["stages", "--limit"], "none was supplied; needleband stages --help shows what can be typed."),
        (&["read", "--jobs", "0", "x.jpg"], "it is no whole number from 1 on; write it like 4."),
        (&["settle", "x.png", "--every", "10"], "write it like 10s, 2min or 0.5h."),
    ];
    for (words, end) in runs {
        let said = String::from_utf8(command().args(words).assert().code(2).stdout("").get_output().stderr.clone()).unwrap();
        assert!(said.lines().count() == 1 && !said.trim_end().contains(". ") && said.trim_end().ends_with(end), "{words:?}: {said}");
    }
}

#[test]
fn the_version_names_the_versions_of_its_files() {
    for word in ["--version", "-V"] {
        let expected = format!(
            "needleband {} (dial file format {}, diary format {}, JSON format {})\n",
            env!("CARGO_PKG_VERSION"),
            needleband::dial::FORMAT_VERSION,
            needleband::diary::FORMAT_VERSION,
            needleband::output::json::FORMAT_VERSION
        );
        command().arg(word).assert().code(0).stdout(expected).stderr("");
    }
}

#[test]
fn without_a_word_the_help_is_shown_as_a_usage_error() {
    command().assert().code(2).stdout("").stderr(predicates::str::starts_with("Turns phone photos of an analog dash dial"));
}

/// No colour in a pipe and none with NO_COLOR (https://no-color.org); where colour is forced there is some, so this can fail.
#[test]
fn colour_only_where_it_is_wanted() {
    let escapes = |words: &[&str], with: &[(&str, &str)]| {
        let done = command().args(words).env_remove("NO_COLOR").envs(with.iter().copied()).output().unwrap();
        [done.stdout, done.stderr].concat().contains(&0x1b)
    };
    for words in [vec!["--help"], vec!["read", "--help"], vec!["read"], vec!["read", "--dial", "no.json", "x.jpg"], vec!["guess"]] {
        assert!(!escapes(&words, &[]), "{words:?}");
        assert!(!escapes(&words, &[("NO_COLOR", "1"), ("CLICOLOR_FORCE", "1")]), "{words:?}");
    }
    assert!(escapes(&["--help"], &[("CLICOLOR_FORCE", "1")]));
}

/// `needleband ... | head -1`: a reader that has seen enough is no error.
#[cfg(unix)]
#[test]
fn every_command_is_quiet_when_its_pipe_is_closed() {
    let desk = Desk::new();
    for words in [
        vec!["--help"],
        vec!["--version"],
        vec!["read", "--dial", "oil.json", "photos"],
        vec!["check", "--dial", "oil.json"],
        vec!["check", "--dial", "oil.json", "--json"],
        vec!["plan", "--dial", "oil.json", "--drop", "5C"],
        vec!["manual", "pages"],
    ] {
        let mut child = Command::new(assert_cmd::cargo::cargo_bin("needleband"))
            .current_dir(desk.dir.path())
            .args(&words)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let done = child.wait_with_output().unwrap();
        assert_eq!(String::from_utf8_lossy(&done.stderr), "", "{words:?}");
        // 1 where a photo had been refused before the pipe was seen to be closed
        assert!(matches!(done.status.code(), Some(0 | 1)), "{words:?}: {:?}", done.status);
    }
}

/// A path of another system is a name like any other: its separators and its drive are left alone.
#[test]
fn paths_of_another_system_are_names() {
    let desk = Desk::new();
    let place = r"C:\photos\gearbox oil.json";
    fs::copy(desk.path("oil.json"), desk.path(place)).unwrap();
    fs::copy(desk.path("photos/b.png"), desk.path(r"D:\b.png")).unwrap();
    let lines = desk.lines(&["read", "--dial", place, "--json", r"D:\b.png"], 1);
    assert_eq!((lines[0].photo.as_str(), lines[0].outcome.as_str()), (r"D:\b.png", "refused"));
    let known = r"--known=84±1=C:\photos\warm.jpg";
    let words =
        ["needleband", "calibrate", r"C:\dial.jpg", "--unit", "C", "--pivot", "1,2", "--rim", "3,4", known, "--out", r"C:\oil.json"];
    needleband::cli::understood(&words).unwrap();
}

#[test]
fn manual_pages_and_completions_know_every_command_and_option() {
    let desk = Desk::new();
    desk.run(&["manual", "pages"]).code(0).stdout("17 manual pages and 5 completions in pages.\n").stderr("");
    let of = |name: &str| fs::read_to_string(desk.path("pages").join(name)).unwrap();
    let shells = ["needleband.bash", "_needleband", "needleband.fish", "needleband.elv", "_needleband.ps1"];
    let options = |text: &str| -> Vec<String> {
        let lines = text.lines().filter_map(|l| l.trim_start().strip_prefix("--"));
        lines.map(|l| l.chars().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect()).collect()
    };
    for name in COMMANDS {
        let page = of(&format!("man/needleband-{name}.1"));
        let help = help(&[name]);
        let all = options(help.split("Options:\n").nth(1).unwrap_or_default().split("Example").next().unwrap());
        assert!(!all.is_empty() || ["manual", "use"].contains(&name), "{name}");
        for option in &all {
            assert!(page.contains(&format!("\\-\\-{}", option.replace('-', "\\-"))), "{name} --{option}");
            for shell in shells {
                assert!(of(&format!("completions/{shell}")).contains(option), "{shell}: {name} --{option}");
            }
        }
        // an example keeps its lines
        let example = page.split(".SH EXAMPLES\n.nf\n").nth(1).unwrap().split("\n.fi\n").next().unwrap();
        assert!(
            example.lines().any(|l| l.trim_start().starts_with(&format!("needleband {} ", name.replace('-', "\\-")))),
            "{name}: {example}"
        );
    }
    // the same in one line, for the shell in which it is typed; pages that are there stay
    desk.run(&["manual", "--completions", "bash"]).code(0).stdout(of("completions/needleband.bash"));
    desk.run(&["manual", "pages"]).code(2).stderr(contains("exists already"));
    desk.run(&["manual", "pages", "--force"]).code(0);
    // the other kind of slash in an example is not the formatter's own
    assert!(of("man/needleband-calibrate.1").contains("\\e\n"));
}

/// The shell that most people use takes the completions as they are.
#[cfg(unix)]
#[test]
fn bash_takes_its_completions() {
    let desk = Desk::new();
    desk.run(&["manual", "."]).code(0);
    let script = ". completions/needleband.bash; COMP_WORDS=(needleband read --ov); COMP_CWORD=2; _needleband needleband --ov read; echo ${COMPREPLY[*]}";
    let done = Command::new("bash").current_dir(desk.dir.path()).args(["-c", script]).output().unwrap();
    assert_eq!(String::from_utf8_lossy(&done.stdout).trim(), "--overlay", "{}", String::from_utf8_lossy(&done.stderr));
}

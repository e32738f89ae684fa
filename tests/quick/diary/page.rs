//! The page and the Markdown: the answer first, everything inside, nothing fetched, nothing run, words for every picture.
use super::{diary, note, outside, photo};
use crate::support::pictures;
use needleband::diary::{Conditions, Diary, Note, Project, project};
use needleband::output::picture::svg::rough_width;
use needleband::output::picture::{sketch, stages_inline};
use needleband::output::{Markdown, markdown, page};

/// Three stages: two with pictures, one with a run over time.
fn example() -> (Project, Diary) {
    let mut stock = outside(note("stock", &[92.0, 92.1, 91.9], 0.1), 24.0);
    stock.sketch = sketch(&photo(36.0), &stock.photos[0].record, 0);
    let mut cooler = note("larger <cooler> & \"co\"", &[85.0, 85.1], 0.1);
    cooler.sketch = sketch(&photo(15.0), &cooler.photos[0].record, 0);
    cooler.conditions = Conditions { text: Some("<script>alert(1)</script> | *x* [y](http://evil)".into()), ..Conditions::default() };
    let values: Vec<f64> = (0..20).map(|k| 80.0 - 40.0 * (-f64::from(k) / 4.0).exp()).collect();
    let mut run = Note { warm_up: true, ..note("thermostat", &values, 0.1) };
    run.photos.iter_mut().enumerate().for_each(|(k, p)| p.seconds = Some(60.0 * k as f64));
    let d = diary(vec![stock, cooler, run]);
    (project(&d).unwrap(), d)
}

fn made() -> String {
    let (p, d) = example();
    page(&p, &d).unwrap()
}

/// What stands between the first `open` and the `close` after it.
fn between<'a>(text: &'a str, open: &str, close: &str) -> &'a str {
    let from = text.find(open).unwrap_or_else(|| panic!("no {open}")) + open.len();
    &text[from..from + text[from..].find(close).unwrap()]
}

#[test]
fn the_answer_stands_first_in_one_sentence() {
    let text = made();
    let body = text.split("<main>").nth(1).unwrap();
    assert!(body.starts_with("<header><h1>Gearbox oil: a real drop of "), "{}", &body[..200]);
    let answer = between(body, "<h1>", "</h1>");
    assert!(answer.contains("from “stock” to “thermostat”") && answer.contains("°F") && answer.ends_with('.'), "{answer}");
    assert!(between(body, "</h1>", "<figure").contains("all 3 are real"));
    for head in ["The dial", "Stages", "Changes", "Over time", "Conditions", "How it was worked out", "What it cannot say", "Cautions"] {
        assert!(body.contains(&format!("<h2>{head}</h2>")), "{head}");
    }
    for words in ["no safety instrument", "Nobody drives and photographs", "workshop manual", "not noted", "24.0 °C (75.2 °F)"] {
        assert!(body.contains(words), "{words}");
    }
}

#[test]
fn nothing_is_fetched_and_nothing_runs() {
    let text = made();
    assert!(text.contains("default-src 'none'; img-src data:; style-src 'unsafe-inline'"));
    let lower = text.to_lowercase();
    for word in ["<script", "javascript:", "onload", "onerror", "<link", "<iframe", "@import", "url(", "<object", "<form", "srcset"] {
        assert!(!lower.contains(word), "{word}");
    }
    // every source is inside the page, and no link leads out of it
    let sources: Vec<&str> = text.split("src=\"").skip(1).map(|s| &s[..23.min(s.len())]).collect();
    assert_eq!(sources, ["data:image/jpeg;base64,"; 2]);
    assert!(!text.contains("href"));
    // "://" only inside what a note says, as text
    assert_eq!(text.matches("://").count(), text.matches("[y](http://evil)").count());
    assert!(text.contains("&lt;script&gt;alert(1)&lt;/script&gt;") && text.contains("larger &lt;cooler&gt; &amp; &quot;co&quot;"));
}

#[test]
fn every_picture_is_told_in_words() {
    let text = made();
    for tag in ["<img ", "<svg "] {
        let all: Vec<&str> = text.split(tag).skip(1).map(|t| t.split('>').next().unwrap()).collect();
        assert_eq!(all.len(), 2, "{tag}");
        let name = if tag == "<img " { "alt=\"" } else { "role=\"img\" aria-label=\"" };
        for t in all {
            assert!(between(t, name, "\"").chars().count() > 40, "{}", &t[t.len().saturating_sub(300)..]);
        }
    }
    assert!(text.contains("alt=\"The dial turned straight, stage “stock”, 92.0 ± 1.6 °C"));
    assert!(text.contains("aria-label=\"Plot of the stages. stock: 92.0 ± 1.6 °C"));
    assert!(text.contains("aria-label=\"Plot of 20 readings over time with the fitted curve. Settled at 80.0"));
    // units stand on the axes of both plots
    let plots: Vec<&str> = text.split("<svg ").skip(1).map(|t| t.split("</svg>").next().unwrap()).collect();
    assert!(plots.iter().all(|p| p.contains("°C") && p.contains("°F")) && plots[1].contains("time since the first photo, min"));
}

#[test]
fn it_reads_in_light_and_dark_on_a_phone_and_on_paper() {
    let text = made();
    for rule in ["prefers-color-scheme:dark", "@page{size:A4", "@media print", "max-width:48rem", "width=device-width"] {
        assert!(text.contains(rule), "{rule}");
    }
    // a picture is scaled with the page, never wider than it
    assert!(text.contains("img{display:block;width:100%;height:auto"));
    // every colour of a drawing is one that the page sets for light and for dark
    let plots: String = text.split("<svg ").skip(1).map(|t| t.split("</svg>").next().unwrap()).collect();
    let style = between(&text, "<style>", "</style>");
    let (light, dark) = style.split_once("prefers-color-scheme:dark").unwrap();
    for used in plots.split("var(").skip(1).map(|t| t.split(')').next().unwrap()) {
        assert!(light.contains(&format!("{used}:#")) && dark.contains(&format!("{used}:#")), "{used}");
    }
    assert!(!plots.contains("=\"#"), "a fixed colour in a plot");
    // the same notes give the same bytes
    assert_eq!(text, made());
}

/// Contrast of text on its ground, WCAG 2.2, 1.4.3 (relative luminance by its formula): 4.5 at least.
#[test]
fn text_stands_out_from_the_ground() {
    let style = made();
    let style = between(&style, "<style>", "</style>");
    let (light, dark) = style.split_once("prefers-color-scheme:dark").unwrap();
    let luminance = |hex: &str| {
        let channel = |k: usize| {
            let v = f64::from(u8::from_str_radix(&hex[k..k + 2], 16).unwrap()) / 255.0;
            if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(0) + 0.7152 * channel(2) + 0.0722 * channel(4)
    };
    for scheme in [light, dark] {
        let colour = |name: &str| luminance(&scheme[scheme.find(&format!("--{name}:#")).unwrap() + name.len() + 4..][..6]);
        let ratio = |a: f64, b: f64| (a.max(b) + 0.05) / (a.min(b) + 0.05);
        for text in ["ink", "quiet"] {
            for ground in ["paper", "tint"] {
                assert!(ratio(colour(text), colour(ground)) >= 4.5, "{text} on {ground}");
            }
        }
        // lines and marks of a plot: 3 at least (1.4.11)
        for mark in ["mark", "curve", "band", "warn"] {
            assert!(ratio(colour(mark), colour("paper")) >= 3.0, "{mark}: {}", ratio(colour(mark), colour("paper")));
        }
    }
}

#[test]
fn markdown_names_its_pictures_and_keeps_words_as_words() {
    let (p, d) = example();
    let Markdown { text, pictures } = markdown(&p, &d, "my oil.pictures").unwrap();
    assert!(text.starts_with("# Gearbox oil: a real drop of "));
    let names: Vec<&str> = pictures.iter().map(|(n, _)| n.as_str()).collect();
    assert_eq!(names, ["my oil.pictures/stages.png", "my oil.pictures/1.jpg", "my oil.pictures/2.jpg"]);
    for link in ["](my%20oil.pictures/stages.png)", "](my%20oil.pictures/1.jpg)", "](my%20oil.pictures/2.jpg)"] {
        assert!(text.contains(link), "{link}");
    }
    assert!(pictures.iter().all(|(_, bytes)| needleband::photo::decode(bytes).is_ok()));
    // nothing that a note says becomes a tag, a link, a cell or a heading
    assert!(text.contains(r"\<script\>alert(1)\</script\> \| \*x\* \[y\](http://evil)"));
    assert!(text.contains(r"| larger \<cooler\> \& "));
    let cells = |l: &str| l.replace(r"\|", "").matches('|').count();
    let tables: Vec<&str> = text.lines().filter(|l| l.starts_with('|')).collect();
    assert_eq!(tables.len(), 2 + 3 + 2 + 3);
    assert!(tables[..5].iter().all(|l| cells(l) == 6) && tables[5..].iter().all(|l| cells(l) == 8), "{tables:#?}");
    assert!(text.contains("## Over time\n\n* thermostat: settled at 80.0"));
    for head in ["## Stages", "## Changes", "## Conditions", "## How it was worked out", "## What it cannot say", "## Cautions"] {
        assert!(text.contains(head), "{head}");
    }
}

/// Angles count from each dial file's own reference photo, so the needle of another file's stage has no place in the picture.
#[test]
fn an_earlier_needle_is_dashed_only_where_the_dial_file_is_the_same() {
    let drawn = |other: bool| {
        let mut stock = note("stock", &[92.0], 0.1);
        stock.sketch = sketch(&photo(36.0), &stock.photos[0].record, 0);
        let mut cooler = note("cooler", &[85.0], 0.1);
        cooler.sketch = sketch(&photo(15.0), &cooler.photos[0].record, 0);
        if other {
            cooler.dial.id = "e".to_string();
        }
        let d = diary(vec![stock, cooler]);
        let p = project(&d).unwrap();
        (page(&p, &d).unwrap(), markdown(&p, &d, "oil").unwrap())
    };
    let ((same, same_md), (other, other_md)) = (drawn(false), drawn(true));
    for text in [&same, &same_md.text] {
        assert!(text.contains("the dashed line is where it stood in “stock”") && !text.contains("another dial file"));
    }
    for text in [&other, &other_md.text] {
        assert!(text.contains("read with another dial file than “stock”") && !text.contains("the dashed line is where"));
    }
    // one change is no family
    let chance = between(&same, "Chance: ", "</p>").trim_end();
    assert_eq!(chance, "how often a change as large would show where there is none.");
    assert!(made().contains("where there is none, all 3 changes counted together. "));
    assert!(same.contains("Dashed: where it stood in “stock”.") && !other.contains("Dashed:"));
    assert!(other.contains("<span class=\"small\">Read with another dial file than “stock”"));
    // the first needle's line at 36 degrees, 0.7 of 160 px from the pivot in the middle of 560 x 440 px: some dash is bright there
    let bright = |m: &Markdown| {
        let picture = pictures::of_bytes(&m.pictures[2].1);
        let (s, c) = 36.0_f64.to_radians().sin_cos();
        let at = |r: f64| picture.get_pixel((280.0 + 160.0 * r * s) as u32, (220.0 - 160.0 * r * c) as u32).0;
        (30..100).filter(|k| at(f64::from(*k) / 100.0).iter().all(|v| *v > 190)).count()
    };
    assert!(bright(&same_md) > 10 && bright(&other_md) == 0, "{} {}", bright(&same_md), bright(&other_md));
}

/// The line from dot to dot is whole: words are written over it.
#[test]
fn the_line_between_stages_is_not_broken() {
    let p = project(&diary(vec![note("stock", &[91.0], 0.1), note("cooler", &[92.0], 0.1), note("thermostat", &[80.0], 0.1)])).unwrap();
    let svg = stages_inline(&p, "a plot");
    // dashes are 4 units long; rows are 52 high from 34 on; a dot stands 36 below its row's top
    let dashed: Vec<Vec<f64>> = svg
        .lines()
        .filter(|l| l.contains("stroke-dasharray=\"4.0\""))
        .map(|l| {
            let points = between(l, "d=\"", "\"").replace(['M', 'L'], " ").replace(',', " ");
            points.split_whitespace().map(|v| v.parse::<f64>().unwrap()).skip(1).step_by(2).collect()
        })
        .collect();
    assert_eq!(dashed, [[70.0, 122.0], [122.0, 174.0]]);
    // no number of the axes hangs past their ends, 14 and 346
    let widest = svg.lines().filter(|l| l.contains("text-anchor=\"middle\"")).map(|l| {
        let (x, words) = (between(l, "x=\"", "\"").parse::<f64>().unwrap(), between(l, "\">", "</tspan>").rsplit('>').next().unwrap());
        (x, 0.5 * rough_width(words, 11.04, false))
    });
    let all: Vec<(f64, f64)> = widest.collect();
    assert!(all.len() > 6 && all.iter().all(|(x, half)| x - half > 13.9 && x + half < 346.1), "{all:?}");
}

/// Names of photos and words of conditions are other people's: they may hold anything and must stay words.
#[test]
fn hostile_names_and_conditions_stay_words() {
    let mut n = note("<img src=x onerror=alert(1)>", &[92.0, 91.0, 92.5], 0.1);
    let evil = "\"><script>alert(1)</script>\n# head\n| a | [x](javascript:alert(1)) `` ` \u{202e}gpj.exe\u{7}";
    n.photos.iter_mut().for_each(|p| p.file = evil.to_string());
    let word = || Some(evil.to_string());
    n.conditions = Conditions { speed: word(), load: word(), text: word(), ..Conditions::default() };
    let mut below = n.photos[0].clone();
    below.record.outcome = needleband::reading::Outcome::BelowScale;
    below.record.photo_id = "ffff".to_string();
    n.photos.push(below.clone());
    // the names of these begin a list
    let listed = ["- b", "2) c"].map(|name| {
        let mut n = note(name, &[85.0, 85.5, 84.9], 0.1);
        n.photos.push(below.clone());
        n
    });
    let d = diary([n].into_iter().chain(listed).collect());
    let p = project(&d).unwrap();
    let html = page(&p, &d).unwrap().to_lowercase();
    for word in ["<script", "<img src=x", "onerror=alert(1)>", "\u{202e}", "\u{7}"] {
        assert!(!html.contains(word), "{word:?}");
    }
    // an escaped sign is a word's
    let text = markdown(&p, &d, "p").unwrap().text.replace(r"\<", "").replace(r"\[", "");
    for word in ["<script", "<img", "\n# head", "[x](javascript", "\u{202e}", "\u{7}"] {
        assert!(!text.contains(word), "{word:?}: {text}");
    }
    assert!(text.contains("\n* \\- b, ") && text.contains("\n* 2\\) c, "), "{text}");
}

//! A plan in words.
use super::{column, right};
use crate::dial::Dial;
use crate::maths::rounding::significant;
use crate::output::limit::both_units;
use crate::output::names::shown;
use crate::output::words::{CAUTION, plain, sigma_text};
use crate::plan::Plan;

/// How many photos, how large, how long; `time_constant` in seconds where it is known.
pub fn planned(p: &Plan, dial: &Dial, time_constant: Option<f64>) -> String {
    let u = p.unit.symbol();
    let place = if p.at_given { "" } else { ", where on the scale of this dial it takes most" };
    let mut out = format!(
        "Dial \"{}\": a drop of {} {u} from {}{place}.\n\n{}",
        shown(&dial.name),
        plain(p.drop),
        both_units((10.0 * p.at).round() / 10.0, p.unit),
        photos(p)
    );
    out.push_str(&sizes(p));
    let scatter = sigma_text(p.scatter);
    out.push_str(&if p.scatter_assumed {
        format!(
            "Counted with a scatter of {scatter} {u} between settled photos: an assumption. Take three, and give --scatter what compare prints for them.\n"
        )
    } else {
        format!("Counted with a scatter of {scatter} {u} between settled photos, as given.\n")
    });
    out.push_str(&format!(
        "However many photos, the dial leaves {} {u} of standard uncertainty in such a difference; a drop below {} {u} cannot be shown with it.\n",
        sigma_text(p.fixed),
        sigma_text(p.smallest)
    ));
    out.push_str(&wait(p, time_constant));
    out.push_str(&format!(
        "\nShown means: the 95 % band of the change lies below 0, in 95 of 100 such comparisons. The reading of a photo is counted as 0.2° of needle from \
         300 pixels on (renderings, hard ones among them); behind glare it is worse. Not counted: weather, load and speed; keep them alike.\n{CAUTION}\n"
    ));
    out
}

fn photos(p: &Plan) -> String {
    match p.advice().map(|a| (a.photos, a.px)) {
        Some((Some(n), px)) => format!("Photos a side: {n}, with the dial at least {px} pixels across. Nearer is safer: a third of the picture.\n\n"),
        _ if p.smallest > p.drop => "Photos a side: no number is enough, since the dial itself leaves more than that in doubt.\n\n".to_string(),
        _ => "Photos a side: more than 50, which is no plan: the needle wanders too much. Settle the temperature better, or look for a larger drop.\n\n".to_string(),
    }
}

fn sizes(p: &Plan) -> String {
    let mut out = format!("{}{}photos a side\n", column("dial, pixels", 17), column("one reading, sigma", 21));
    for s in &p.sizes {
        let n = s.photos.map_or("more than 50".to_string(), |n| n.to_string());
        let across = format!("{}{}", right(&s.px.to_string(), 5), if s.px >= 300 { " and more" } else { "" });
        out.push_str(&format!("{}{}{n}\n", column(&across, 17), column(&format!("{} {}", sigma_text(s.reading), p.unit.symbol()), 21)));
    }
    out.push('\n');
    out
}

fn wait(p: &Plan, time_constant: Option<f64>) -> String {
    let n = significant(p.wait.time_constants, 2);
    let time = time_constant.map_or("settle tells the time constant of yours".to_string(), |t| {
        let minutes = t * p.wait.time_constants / 60.0;
        format!("{} min with a time constant of {} min", significant(minutes, 2), significant(t / 60.0, 2))
    });
    format!(
        "Wait {n} time constants at a steady load before the first photo ({time}): from a start at {} that leaves {} {}, a tenth of the drop.\n",
        both_units(p.wait.from, p.unit),
        sigma_text(p.wait.left),
        p.unit.symbol()
    )
}

//! Changes to a job: asked for by a form or a script, judged by the reader, written whole, and undone again.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::deeds;
use crate::edit::{self, Cannot, Say};
use crate::html::{self, Here, hidden, to};
use crate::job::told;
use crate::seen::Seen;
use crate::undo::Way;
use axum::http::StatusCode;
use axum::response::Response;
use cullet_job::Finding;
use maud::html;
use serde_json::{Value, json};
use std::sync::{Arc, Mutex, PoisonError};

/// Changes of files one after the other.
static CHANGING: Mutex<()> = Mutex::new(());

/// A change asked for by a form or a script; the script says so and gets data, the form goes back to the page.
pub(crate) fn edit(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let name = asked.must("job")?;
    let panel = asked.get("panel").unwrap_or_default().to_owned();
    let changed = change(app, name, asked.must("digest")?, Judge::NoWorse, &|text| {
        new_text(text, asked)
    });
    answered(app, asked, name, &panel, changed)
}

fn answered(
    app: &App,
    asked: &Asked,
    name: &str,
    panel: &str,
    changed: Result<(), Problem>,
) -> Result<Response, Problem> {
    let by_script = asked.get("by") == Some("script");
    match (changed, by_script) {
        (Ok(()), false) => Ok(answer::go(&format!(
            "{}#panel-{}",
            to("/job", &[("job", name)]),
            answer::encoded(panel)
        ))),
        (Ok(()), true) => {
            let seen = Seen::of(app, name)?;
            let (back, forth) = app.undo.count(name, &seen.text);
            let told = told(&seen, &|words| app.place.short(words)).into_string();
            Ok(answer::data(
                StatusCode::OK,
                &json!({"digest": seen.digest(), "back": back, "forth": forth, "told": told}),
            ))
        }
        (Err(Problem::Changed(_)), false) => Ok(changed_page(asked, name)),
        (Err(problem), true) => {
            let lines: Vec<String> = problem
                .lines()
                .into_iter()
                .map(|(what, hint)| app.place.short(&format!("{what} {hint}")))
                .collect();
            Ok(answer::data(problem.status(), &json!({"problem": lines})))
        }
        (Err(problem), false) => Err(problem),
    }
}

/// Two choices for whoever was late: the same change on the job as it is now, or none.
fn changed_page(asked: &Asked, name: &str) -> Response {
    let body = html! {
        h1 { "Changed meanwhile" }
        p role="alert" { "Somebody has changed " b { (name) } " since this page was opened. Your change is not made, and theirs is safe." }
        form method="post" action="/job/edit" {
            @for (field, value) in asked.fields() { @if field != "digest" { (hidden(field, value)) } }
            (hidden("digest", "now"))
            button { "Make my change on the job as it is now" }
        }
        p { a.button.quiet href=(to("/job", &[("job", name)])) { "Leave my change out and look" } }
    };
    answer::page(
        StatusCode::CONFLICT,
        html::frame("Changed meanwhile", Here::Jobs, &[], body),
    )
}

/// What a changed job may be like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Judge {
    /// The reader finds nothing wrong with it that it did not find before.
    NoWorse,
    /// Whatever comes: another drawing has faults of its own.
    Anything,
}

/// Changes the job's text: only the text that was on the page, only where the reader finds nothing new wrong with it, and whole.
pub(crate) fn change(
    app: &App,
    name: &str,
    digest: &str,
    judge: Judge,
    make: &dyn Fn(&str) -> Result<String, Problem>,
) -> Result<(), Problem> {
    let _one = CHANGING.lock().unwrap_or_else(PoisonError::into_inner);
    let before = Seen::of(app, name)?;
    if digest != "now" && before.digest() != digest {
        return Err(Problem::Changed(format!(
            "{name} was changed meanwhile; nothing was written"
        )));
    }
    let text = make(&before.text)?;
    if text == before.text {
        return Ok(());
    }
    let old = before.text.clone();
    let known = before.findings;
    let after = Seen::read(app, name, text);
    let worse: Vec<Finding> = after
        .findings
        .into_iter()
        .filter(|finding| !known.iter().any(|old| is_same(old, finding)))
        .collect();
    if !worse.is_empty() && judge == Judge::NoWorse {
        return Err(Problem::Findings(worse));
    }
    // Noted first: what is cut short in between can still be undone.
    app.undo.changing(name, &old, &after.text);
    deeds::write_over(&app.place.path(name)?, &old, &after.text)
}

/// The same thing found at the same place, whatever the text around it.
fn is_same(a: &Finding, b: &Finding) -> bool {
    a.file == b.file && a.place == b.place && a.expected == b.expected
}

/// One step back or forth.
pub(crate) fn step(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let name = asked.must("job")?;
    let way = if asked.get("way") == Some("forth") {
        Way::Forth
    } else {
        Way::Back
    };
    let done = {
        let _one = CHANGING.lock().unwrap_or_else(PoisonError::into_inner);
        let seen = Seen::of(app, name)?;
        match (
            seen.digest() == asked.must("digest")?,
            app.undo.peek(name, &seen.text, way),
        ) {
            (false, _) => Err(Problem::Changed(format!(
                "{name} was changed meanwhile; nothing was undone"
            ))),
            (true, None) => Ok(()),
            (true, Some(text)) => {
                deeds::write_over(&app.place.path(name)?, &seen.text, &text)?;
                app.undo.stepped(name, &seen.text, way);
                Ok(())
            }
        }
    };
    match done {
        Err(problem) => Err(problem),
        Ok(()) => Ok(answer::go(&to("/job", &[("job", name)]))),
    }
}

fn new_text(text: &str, asked: &Asked) -> Result<String, Problem> {
    let cannot = |cannot: Cannot| match cannot {
        Cannot::NotThere => Problem::Words("The job has no such panel or piece any more: look at it again.".into()),
        Cannot::InDrawing => {
            Problem::Words("That stands in the drawing, or in its details with other pieces: change it there.".into())
        }
    };
    let panel = asked.get("panel").unwrap_or_default();
    let numbers: Vec<&str> = asked
        .get("numbers")
        .unwrap_or_default()
        .split('\u{1f}')
        .filter(|number| !number.is_empty())
        .collect();
    match asked.must("what")? {
        "glass" => edit::say(text, panel, &numbers, &[Say::Glass(asked.must("glass")?.to_owned())]).map_err(cannot),
        "piece" => {
            let text = edit::say(text, panel, &numbers, &said(asked)?).map_err(cannot)?;
            match (asked.get("number"), numbers.as_slice()) {
                (Some(new), [old]) if new != *old => edit::renumber(&text, panel, old, new).map_err(cannot),
                _ => Ok(text),
            }
        }
        "panel" => {
            let mut text = text.to_owned();
            for (asked_for, field) in [("quantity", "quantity"), ("mirrored", "mirrored_quantity")] {
                let value = asked.get(asked_for).map(|word| number(word, asked_for)).transpose()?;
                let value = value.map(whole);
                let is_none = field == "mirrored_quantity" && value == Some(json!(0));
                text = edit::field(&text, Some(panel), field, value.as_ref().filter(|_| !is_none)).map_err(cannot)?;
            }
            let called = asked.get("name").map(Value::from);
            edit::field(&text, Some(panel), "name", called.as_ref()).map_err(cannot)
        }
        "lead" => {
            let mut text = text.to_owned();
            for (face, heart, field) in [
                ("face", "heart", "drawing/came"),
                ("border", "border_heart", "drawing/border"),
            ] {
                let value = match (asked.get(face), asked.get(heart)) {
                    (None, _) => None,
                    (Some(face), heart) => Some(match number(face, "face") {
                        Ok(face) => json!({"face": face, "heart": number(heart.unwrap_or("1.2"), "heart")?}),
                        Err(_) => json!(face),
                    }),
                };
                text = edit::field(&text, Some(panel), field, value.as_ref()).map_err(cannot)?;
            }
            let foil = asked
                .get("foil")
                .map(|word| number(word, "foil"))
                .transpose()?
                .map(|foil| json!(foil));
            edit::field(&text, Some(panel), "drawing/foil", foil.as_ref()).map_err(cannot)
        }
        "glass-file" => {
            let at = asked.must("at")?;
            let glass = crate::shop::glass_of(asked)?;
            let mut text = text.to_owned();
            for (name, value) in &glass {
                text = edit::field(&text, None, &format!("glasses/{at}/{name}"), value.as_ref()).map_err(cannot)?;
            }
            Ok(text)
        }
        _ => Err(Problem::NotThere),
    }
}

fn whole(number: f64) -> Value {
    if number.fract() == 0.0 && number.abs() < 1e9 {
        json!(number as i64)
    } else {
        json!(number)
    }
}

/// What the form says of the pieces that are picked. Fields that were left alone are not sent.
fn said(asked: &Asked) -> Result<Vec<Say>, Problem> {
    let mut said = vec![];
    let is_sent = |name: &str| asked.fields().iter().any(|(known, _)| known == name);
    if is_sent("grain") {
        let turn = asked.get("grain").map(|word| number(word, "grain")).transpose()?;
        said.push(Say::Grain(turn));
    }
    if is_sent("bevel") {
        let bevel = match asked.get("bevel") {
            Some(width) => Some((
                number(width, "bevel")?,
                number(asked.get("nose").unwrap_or("0"), "nose")?,
            )),
            None => None,
        };
        said.push(Say::Bevel(bevel));
    }
    if is_sent("spares") {
        let count = asked
            .get("spares")
            .map(|word| number(word, "spares"))
            .transpose()?
            .unwrap_or_default();
        if count.fract() != 0.0 || !(0.0..=1e4).contains(&count) {
            return Err(Problem::Words("Spares are a whole number from 0 to 10000.".into()));
        }
        said.push(Say::Spares(count as u32));
    }
    if is_sent("lot") {
        said.push(Say::OneLot(asked.get("lot").map(str::to_owned)));
    }
    Ok(said)
}

/// A number as people write it: a comma or a point.
pub(crate) fn number(word: &str, what: &str) -> Result<f64, Problem> {
    let number: Option<f64> = word
        .trim()
        .replace(',', ".")
        .parse()
        .ok()
        .filter(|number: &f64| number.is_finite());
    number.ok_or_else(|| {
        Problem::Words(format!(
            "{what}: found \"{word}\", expected a number, such as 12 or 2.5."
        ))
    })
}

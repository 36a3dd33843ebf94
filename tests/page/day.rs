//! A whole day in a browser, from a drawing dropped in to a piece cut again, at the width of a screen and of a phone.

use crate::driver::{Browser, Driver};
use crate::open::Open;
use crate::{program, read};
use cullet_tests::{Checked, passed_over};
use serde_json::{Value, json};
use std::error::Error;
use std::fs;
use std::path::Path;
use std::time::Instant;

/// A fanlight; its arc ends 2 mm short of the transom where `gap` says so.
fn fanlight(gap: bool) -> String {
    let arc = if gap {
        "M 120 180 A 80 80 0 0 0 278 182"
    } else {
        "M 120 180 A 80 80 0 0 0 280 180"
    };
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
  <rect class="border" width="400" height="300"/>
  <path d="M 0 180 H 400 M 200 0 V 180 {arc} M 200 300 V 260"/>
  <path class="grain" d="M 200 235 V 215"/>
  <text x="60" y="90">1 CLEAR</text> <text x="300" y="90">2 CLEAR</text>
  <text x="200" y="220">3 REED</text> <text x="60" y="260">4 CLEAR</text> <text x="340" y="260">5 CLEAR</text>
</svg>"#
    )
}

/// Looks at the page as it is: the rules of access, and what the browser complains of.
fn look(browser: &Browser<'_>, place: &str) -> Checked {
    let faults = browser.script(include_str!("rules.js"), &[])?;
    assert_eq!(faults, json!([]), "{place}");
    let complaints = browser.complaints()?;
    assert!(complaints.is_empty(), "{place}: {complaints:?}");
    Ok(())
}

#[test]
fn a_day_at_a_screen() -> Checked {
    day(1200)
}

#[test]
fn a_day_with_a_phone() -> Checked {
    day(390)
}

fn day(width: u32) -> Checked {
    let Some(driver) = Driver::start()? else {
        return Ok(passed_over(
            "the page in Chromium: chromium or chromium-driver is missing",
        )?);
    };
    let home = tempfile::tempdir()?;
    let (shop, drawings) = (home.path().join("shop"), home.path().join("drawings"));
    fs::create_dir_all(&shop)?;
    fs::create_dir_all(&drawings)?;
    let began = Instant::now();
    let open = Open::start(&shop, None)?;
    let browser = driver.browser(width)?;
    let stage = |what: &str| eprintln!("{width} px, {:.1} s: {what}", began.elapsed().as_secs_f64());
    browser.go(&open.first)?;
    browser.reads("There is no job here yet")?;
    look(&browser, "empty folder")?;

    new_job(&browser, &drawings)?;
    stage("a job from a drawing, mended");
    let job = shop.join("Hall/job.json");
    at_the_job(&browser, &job)?;
    stage("glass given by touch");
    rack(&browser, &open)?;
    fits(&browser, &open)?;
    plan(&browser, &open)?;
    stage("planned, watched, stopped");
    let (exit, words) = program(&shop, &["check", "Hall/plan/plan.json"])?;
    assert_eq!(exit, 0, "{words}");
    break_out(&browser, &open)?;
    stage("broken out");
    book(&browser, &open, &shop)?;
    stage("booked, a piece cut again, audited");
    photo(&browser, &open, &drawings)?;
    stage("an offcut from a photo");
    choices(&browser, &open, &shop)?;
    stage("choices side by side");
    others(&browser, &open)?;
    stage("the other pages");
    Ok(())
}

/// A job from a drawing with a gap: refused with the place ringed; the mended drawing starts it.
fn new_job(browser: &Browser<'_>, drawings: &Path) -> Checked {
    let (faulty, mended) = (drawings.join("gap.svg"), drawings.join("fanlight.svg"));
    fs::write(&faulty, fanlight(true))?;
    fs::write(&mended, fanlight(false))?;
    browser.fill("#new [name=name]", "Hall")?;
    browser.fill("#files", &faulty.display().to_string())?;
    browser.press("Start the job")?;
    browser.reads("to mend first")?;
    browser.reads("a gap of")?;
    look(browser, "a drawing to mend")?;
    browser.fill("#files", &mended.display().to_string())?;
    browser.press("Start the job")?;
    browser.reads("Hall is started")?;
    look(browser, "started")?;
    browser.press("To the job")?;
    browser.reads("Panel fanlight")?;
    look(browser, "the job")
}

/// Glass by touch, undo and redo, what is said of a piece, how many are made.
fn at_the_job(browser: &Browser<'_>, job: &Path) -> Checked {
    let started = fs::read_to_string(job)?;
    browser.script("document.querySelector('#palette input[value=REED]').click()", &[])?;
    browser.draw("[data-number='1'] .number", "[data-number='2'] .number")?;
    let given = |numbers: Value| -> Result<Option<()>, Box<dyn Error>> {
        let details = read(job)?["panels"][0]["drawing"]["details"].clone();
        Ok((details == json!([{"numbers": numbers, "instead": "REED"}])).then_some(()))
    };
    browser.until("glass on the disk", || given(json!(["1", "2"])))?;
    let arrows = "return document.querySelectorAll('[data-number=\"1\"] .arrow, [data-number=\"2\"] .arrow').length";
    browser.until("the way of their grain", || {
        Ok((browser.script(arrows, &[])? == 2).then_some(()))
    })?;
    browser.until("the button", || {
        Ok((browser.script("return document.querySelector('#back').disabled", &[])? == false).then_some(()))
    })?;
    browser.press("Undo")?;
    browser.until("the job as it was", || {
        Ok((fs::read_to_string(job)? == started).then_some(()))
    })?;
    browser.until("the button", || {
        Ok((browser.script("return document.querySelector('#forth')?.disabled", &[])? == false).then_some(()))
    })?;
    browser.press("Redo")?;
    browser.until("glass on the disk again", || given(json!(["1", "2"])))?;
    browser.reads("Saved in")?;

    // By key alone: the first piece is picked, and its grain turned.
    browser.until("the first piece", || {
        Ok(
            (browser.script("return document.querySelector('.piece[tabindex=\"0\"]') !== null", &[])? == true)
                .then_some(()),
        )
    })?;
    let keys = "const piece = document.querySelector('.piece[tabindex=\"0\"]'); piece.focus(); \
                piece.dispatchEvent(new KeyboardEvent('keydown', {key: 'Enter', bubbles: true})); return piece.dataset.number";
    let number = browser.script(keys, &[])?;
    browser.reads("Picked:")?;
    look(browser, "a piece that is picked")?;
    browser.fill("form.piece [name=spares]", "1")?;
    browser.fill("form.piece [name=grain]", "45")?;
    browser.press("Set for the picked pieces")?;
    let said = |details: &Value| {
        let all = details.as_array().cloned().unwrap_or_default();
        let has = |name: &str, value: Value| {
            all.iter()
                .any(|entry| entry[name] == value && entry["numbers"] == json!([number]))
        };
        has("spares", json!(1)) && has("grain", json!(45))
    };
    browser.until("what was said", || {
        Ok(said(&read(job)?["panels"][0]["drawing"]["details"]).then_some(()))
    })?;
    browser.until("the page again", || {
        Ok((browser.script(
            "return document.readyState === 'complete' && !document.querySelector('.piece[aria-pressed=true]')",
            &[],
        )? == true)
            .then_some(()))
    })?;
    browser.fill("[name=quantity]", "2")?;
    browser.press("Set")?;
    browser.until("two of them", || {
        Ok((read(job)?["panels"][0]["quantity"] == 2).then_some(()))
    })
}

/// A rack from the stock list that was started, and an offcut put on it.
fn rack(browser: &Browser<'_>, open: &Open) -> Checked {
    browser.go(&open.at("/rack"))?;
    look(browser, "no rack yet")?;
    browser.press("Make a rack of it")?;
    browser.reads("CLEAR-NEW")?;
    look(browser, "the rack")?;
    browser.press("Add glass")?;
    for (name, words) in [
        ("glass", "CLEAR"),
        ("tag", "K-1"),
        ("width", "420"),
        ("height", "330"),
        ("place", "C4"),
    ] {
        browser.fill(&format!("form[action='/rack/add'] [name={name}]"), words)?;
    }
    browser.click("form[action='/rack/add'] button")?;
    browser.reads("K-1, CLEAR")?;
    look(browser, "one offcut")
}

/// A piece is touched, and the glass it fits on is shown: the offcut that was just added is the smallest.
fn fits(browser: &Browser<'_>, open: &Open) -> Checked {
    browser.go(&open.at("/job?job=Hall/job.json"))?;
    browser.draw("[data-number='4'] .number", "[data-number='4'] .number")?;
    browser.reads("Picked:")?;
    browser.press("Find glass that fits")?;
    browser.reads("Glass CLEAR for 1 piece: 4")?;
    look(browser, "glass that fits")?;
    let first = browser.script("return document.querySelector('.sheets li').innerText", &[])?;
    let first = first.as_str().unwrap_or_default();
    assert!(first.contains("K-1") && first.contains("offcut"), "{first}");
    let drawn = browser.script("return document.querySelectorAll('.sheets li svg path').length", &[])?;
    assert!(drawn.as_u64() >= Some(2), "{drawn}");
    Ok(())
}

/// Another glass side by side with the job as it stands, to its end.
fn choices(browser: &Browser<'_>, open: &Open, shop: &Path) -> Checked {
    browser.go(&open.at("/compare?job=Hall/job.json"))?;
    look(browser, "choices")?;
    browser.script(
        "document.querySelector('[name=of1]').value = 'REED'; document.querySelector('[name=by1]').value = 'CLEAR'",
        &[],
    )?;
    browser.fill("[name=seconds]", "0.3")?;
    browser.press("Set them side by side")?;
    browser.reads("Side by side")?;
    look(browser, "choices side by side")?;
    let said = browser.words_in_frame("iframe.written")?;
    assert!(said.contains("as it stands") && said.contains("REED=CLEAR"), "{said}");
    assert!(shop.join("Hall/choices/compare.csv").is_file());
    Ok(())
}

/// Plans with the picture live, and stops.
fn plan(browser: &Browser<'_>, open: &Open) -> Checked {
    browser.go(&open.at("/plan?job=Hall/job.json"))?;
    look(browser, "before the plan")?;
    browser.fill("[name=seconds]", "60")?;
    browser.click("form[action='/plan'] button")?;
    browser.until("a live picture", || {
        Ok(
            (browser.script("return document.querySelectorAll('#sheets svg path').length > 3", &[])? == true)
                .then_some(()),
        )
    })?;
    browser.until("figures", || {
        Ok(
            (browser.script("return /^\\d/.test(document.querySelector('#net').innerText)", &[])? == true)
                .then_some(()),
        )
    })?;
    look(browser, "the search")?;
    browser.press("Stop and keep the best so far")?;
    browser.reads("To its sheets")?;
    look(browser, "after the search")
}

/// Every break of one sheet; the place is found again in between.
fn break_out(browser: &Browser<'_>, open: &Open) -> Checked {
    browser.go(&open.at("/sheets?job=Hall/job.json"))?;
    browser.reads("Map 1")?;
    look(browser, "the sheets")?;
    browser.go(&open.at("/sheet?job=Hall/job.json&map=1"))?;
    browser.reads("Break 1 of")?;
    look(browser, "a sheet")?;
    browser.press("Done, next break")?;
    browser.reads("Break 2 of")?;
    browser.go(&open.at("/sheet?job=Hall/job.json&map=1"))?;
    browser.reads("Break 2 of")?;
    for _ in 0..500 {
        let pressed = browser.script(
            "const next = document.querySelector('#next'); if (next.disabled) return false; next.click(); return true",
            &[],
        )?;
        if pressed != true {
            break;
        }
    }
    browser.reads("This sheet is broken out")?;
    let code = "return [...document.querySelectorAll('#ticks input')].every((box) => box.checked)";
    assert_eq!(browser.script(code, &[])?, true, "a piece was not ticked");
    look(browser, "a sheet that is broken out")
}

/// Booked, taken back, booked again; a piece breaks and is cut again; the rack adds up, here and for the command line.
fn book(browser: &Browser<'_>, open: &Open, shop: &Path) -> Checked {
    browser.go(&open.at("/sheets?job=Hall/job.json"))?;
    browser.fill("form[action='/book'] [name=place]", "B2")?;
    browser.press("Book it as cut")?;
    browser.reads("Booked as entry")?;
    look(browser, "booked")?;
    browser.press("Back to the sheets")?;
    browser.reads("Cut and booked")?;
    browser.press("Undo the booking")?;
    browser.reads("Booking undone")?;
    look(browser, "booking undone")?;
    browser.press("Back to the sheets")?;
    browser.press("Book it as cut")?;
    browser.reads("Booked as entry")?;
    browser.go(&open.at("/broken?job=Hall/job.json"))?;
    look(browser, "which piece broke")?;
    browser.script("document.querySelector('[name=piece]').click()", &[])?;
    browser.press("See which glass would do")?;
    browser.reads("Glass for")?;
    look(browser, "which glass would do")?;
    browser.press("draw it and book it")?;
    browser.reads("Booked as entry")?;
    browser.go(&open.at("/rack/audit"))?;
    browser.reads("The rack adds up.")?;
    look(browser, "the audit")?;
    let (exit, words) = program(shop, &["rack", "audit", "--rack", "Hall/shop.rack"])?;
    assert_eq!(exit, 0, "{words}");
    let (exit, words) = program(shop, &["check", "Hall/plan-again-1/plan.json"])?;
    assert_eq!(exit, 0, "{words}");
    Ok(())
}

/// A picture of an offcut among the marks of an A4 sheet, from straight above, four pixels a millimetre; the offcut is 130 × 180 mm.
fn picture() -> Vec<u8> {
    let (width, height) = (840_usize, 1188_usize);
    let mut pixels = vec![255_u8; width * height * 3];
    for (x0, y0, x1, y1) in [(160, 240, 680, 960)] {
        for y in y0..y1 {
            pixels[(y * width + x0) * 3..(y * width + x1) * 3].fill(190);
        }
    }
    // A bitmap file: header of 54 bytes, rows from below, blue first; 840 × 3 is a multiple of four.
    let mut file = b"BM".to_vec();
    for word in [
        54 + pixels.len() as u32,
        0,
        54,
        40,
        width as u32,
        height as u32,
        1 | 24 << 16,
        0,
        0,
        0,
        0,
        0,
        0,
    ] {
        file.extend(word.to_le_bytes());
    }
    file.extend(pixels);
    file
}

/// An offcut from a photo: eight marks and four corners touched, 3 mm smaller all round, on to the rack.
fn photo(browser: &Browser<'_>, open: &Open, folder: &Path) -> Checked {
    let file = folder.join("offcut.bmp");
    fs::write(&file, picture())?;
    browser.go(&open.at("/rack/photo"))?;
    browser.fill("#photo", &file.display().to_string())?;
    browser.reads("Touch the middle of mark 1 of 8")?;
    let touch = "const canvas = document.querySelector('#picture'), box = canvas.getBoundingClientRect(); \
                 const scale = Math.min(box.width / canvas.width, box.height / canvas.height); \
                 const left = box.left + (box.width - canvas.width * scale) / 2, top = box.top + (box.height - canvas.height * scale) / 2; \
                 canvas.dispatchEvent(new MouseEvent('click', {clientX: left + arguments[0] * scale, clientY: top + arguments[1] * scale, bubbles: true}))";
    let marks = [
        (14.0, 283.0),
        (105.0, 283.0),
        (196.0, 283.0),
        (196.0, 148.5),
        (196.0, 14.0),
        (105.0, 14.0),
        (14.0, 14.0),
        (14.0, 148.5),
    ];
    let corners = [(40.0, 60.0), (170.0, 60.0), (170.0, 240.0), (40.0, 240.0)];
    browser.fill("#settings [name=thickness]", "0")?;
    for (x, y) in marks.into_iter().chain(corners) {
        browser.script(touch, &[json!(4.0 * x), json!(1188.0 - 4.0 * y)])?;
    }
    browser.reads("124 × 174 mm")?;
    look(browser, "an offcut from a photo")?;
    browser.fill("#result [name=glass]", "CLEAR")?;
    browser.fill("#result [name=tag]", "P-1")?;
    browser.press("Add it to the rack")?;
    browser.reads("P-1, CLEAR")?;
    look(browser, "the offcut on the rack")
}

/// The pages that the day did not come to.
fn others(browser: &Browser<'_>, open: &Open) -> Checked {
    browser.go(&open.at("/"))?;
    browser.reads("cut and booked")?;
    look(browser, "the jobs")?;
    let paths = [
        "/shop",
        "/rack/history",
        "/compare?job=Hall/job.json",
        "/sheet/print?job=Hall/job.json&map=1",
    ];
    for path in paths {
        browser.go(&open.at(path))?;
        look(browser, path)?;
    }
    browser.go(&open.at("/shop"))?;
    browser.press("Start a shop file")?;
    browser.reads("What is the same in every job")?;
    browser.press("Another glass")?;
    look(browser, "the shop file")
}

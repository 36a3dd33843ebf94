//! The job book: its figures against worked examples, and the page as a browser shows and prints it.
#![expect(
    clippy::print_stderr,
    reason = "the letters and pages that were looked at; cargo shows them with --nocapture"
)]

use cullet::Exit;
use cullet_tests::{Bench, Checked, bare_glass, job, passed_over, rectangle, typed};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Plans what lies on the bench and returns the book.
fn book(bench: &Bench, rounds: &str) -> Result<String, Box<dyn Error>> {
    let path = |name: &str| bench.path(name).display().to_string();
    let args = [
        "plan",
        &path("job.json"),
        "--stock",
        &path("stock.csv"),
        "--out",
        &path("out"),
        "--rounds",
        rounds,
    ];
    let done = typed(&args);
    if done.exit != Exit::Done {
        return Err(format!("{done:?}").into());
    }
    Ok(fs::read_to_string(bench.path("out/book.html"))?)
}

/// A panel of 200 × 300 mm in border came of 12 mm face and 2 mm heart takes glass of 186 × 286 mm (finished-size tutorial; trade figures
/// 9.1). A bevel 1/2 in wide with a nose of 2.5 mm on 5 mm glass lies at 11.1° (9.5); the came covers (12 − 2) / 2 = 5 mm
/// of its 12.7, so 7.7 show. The border is 2 × (200 + 300) mm = 1 m of came, the diagonals are √(200² + 300²) = 360.6 mm, the opening is 3 mm
/// larger.
#[test]
fn a_drawn_panel_has_the_sizes_of_the_worked_examples() -> Checked {
    let bench = Bench::new()?;
    let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">
        <path d="M0 0H200V300H0Z" fill="none" stroke="black"/></svg>"#;
    bench.write("panel.svg", drawing)?;
    let mut job = job(&[bare_glass("A", 5.0)], 1, &[]);
    job["panels"][0]["drawing"] = json!({
        "file": "panel.svg", "glass": "A", "border": { "name": "border", "face": 12, "heart": 2 },
        "details": [{ "bevel": { "width": 12.7, "nose": 2.5 } }]
    });
    bench.write("job.json", &job.to_string())?;
    bench.write(
        "stock.csv",
        "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,600,600,1\n",
    )?;
    let page = book(&bench, "2")?;
    for words in [
        "overall 200.0 × 300.0 mm",
        "186.0 × 286.0 mm",
        "<td class=\"n\">360.6 mm</td>",
        "at least 203.0 × 303.0 mm",
        "<td class=\"n\">11.1°</td>",
        "<td class=\"n\">7.7 mm</td>",
        "<td class=\"n\">1.00 m</td>",
        "came border 12.0 mm",
    ] {
        assert!(page.contains(words), "{words}");
    }
    Ok(())
}

/// 1830 × 2440 × 6 mm weighs 66.98 kg and needs two people, 24 × 48 in × 3 mm 5.574 kg, which is 12.29 lb (EN 572-1; trade
/// figures 9.3).
#[test]
fn sheets_weigh_what_the_worked_examples_say() -> Checked {
    let bench = Bench::new()?;
    let glasses = [bare_glass("A", 6.0), bare_glass("B", 3.0)];
    let mut job = job(
        &glasses,
        1,
        &[rectangle("1", "A", 300.0, 200.0), rectangle("2", "B", 300.0, 200.0)],
    );
    let stock = "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,1830,2440,1\nsheet,T,B,in,24,48,1\n";
    bench.write("stock.csv", stock)?;
    bench.write("job.json", &job.to_string())?;
    let page = book(&bench, "2")?;
    assert!(page.contains("66.98 kg") && page.contains("5.57 kg") && page.contains("two people to lift"));

    job["units"] = json!("in");
    for glass in job["glasses"].as_array_mut().ok_or("glasses")? {
        glass["thickness"] = json!(glass["thickness"].as_f64().ok_or("a number")? / 25.4);
    }
    for piece in job["panels"][0]["pieces"].as_array_mut().ok_or("pieces")? {
        piece["outline"] = json!([[0, 0], [12.5, 0], [12.5, 8], [0, 8]]);
    }
    bench.write("job.json", &job.to_string())?;
    let page = book(&bench, "2")?;
    assert!(page.contains("12.29 lb") && page.contains("12 1/2 × 8 in") && page.contains("24 × 48 in"));
    let figures = page.split("<section id=\"").find(|part| part.starts_with("figures"));
    assert!(figures.is_some_and(|part| part.contains("ft²")));
    // Neither the tables nor the maps and steps: what is left in mm is the size of pictures.
    assert!(!page.contains("m²") && !page.contains(" mm.") && !page.contains(" mm<"));
    Ok(())
}

/// Where the browser is, if there is one (Debian's package is `chromium`).
fn chromium() -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path)
        .map(|folder| folder.join("chromium"))
        .find(|file| file.is_file())
}

/// Runs the browser without a screen on a page.
fn browse(chromium: &Path, page: &Path, options: &[&str]) -> Result<String, Box<dyn Error>> {
    let home = tempfile::tempdir()?;
    let done = Command::new(chromium)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"])
        .arg(format!("--user-data-dir={}", home.path().display()))
        .args(options)
        .arg(page)
        .output()?;
    if done.status.success() {
        Ok(String::from_utf8_lossy(&done.stdout).into_owned())
    } else {
        Err(String::from_utf8_lossy(&done.stderr).into_owned().into())
    }
}

/// The letters a page is looked at in: what a reader has may be narrow or wide.
#[derive(Debug, Clone, Copy)]
enum Letters {
    /// What the browser takes for the page's own family.
    Own,
    /// A family by name; the browser's own where there is none of that name.
    Family(&'static str),
    /// Any family, set so wide that letters and figures take this much of their size on average, whatever is installed.
    Spaced(f64),
}

/// Two families in wide use, about 12 % apart, and wider letters than those of either.
const LETTERS: [Letters; 4] = [
    Letters::Own,
    Letters::Family("Liberation Sans"),
    Letters::Family("DejaVu Sans"),
    Letters::Spaced(0.64),
];

impl Letters {
    /// Style and script that give a page these letters; what is drawn keeps its own.
    fn set(self) -> String {
        match self {
            Self::Own => String::new(),
            Self::Family(name) => {
                format!("<style>:not(svg *){{font-family:\"{name}\",sans-serif !important}}</style>")
            }
            Self::Spaced(average) => format!(
                "<script>document.head.append(Object.assign(document.createElement('style'), {{textContent:\
                 ':not(svg *){{letter-spacing:' + ({average} - average()) + 'em !important}}'}}));</script>"
            ),
        }
    }
}

/// How much of its size a letter or figure takes on average in the page's family.
const AVERAGE: &str = r#"<script>
function average() {
  const all = "abcdefghijklmnopqrstuvwxyz0123456789", pen = document.createElement("canvas").getContext("2d");
  const style = getComputedStyle(document.body);
  pen.font = "100px " + style.fontFamily;
  return pen.measureText(all).width / all.length / 100 + (parseFloat(style.letterSpacing) || 0) / parseFloat(style.fontSize);
}
</script>"#;

/// Measures the page where it is shown, and leaves what it found with the frame that it is shown in.
const LOOK: &str = r#"<script>
const found = [], doc = document.documentElement;
const say = (what, e) => found.push(what + ": " + e.tagName + " " + e.textContent.trim().slice(0, 40));
if (doc.scrollWidth > innerWidth + 1) found.push("the page is " + doc.scrollWidth + " wide in " + innerWidth);
const rgb = c => (c.match(/[\d.]+/g) || []).map(Number);
const lum = c => { const [r, g, b] = rgb(c).map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
const behind = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor; if (rgb(c)[3] !== 0) return c; } return "rgb(255,255,255)"; };
for (const e of document.body.querySelectorAll("*:not(script):not(style)")) {
  const own = [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
  if (own && !e.closest("svg") && !e.matches(".skip")) {
    const a = lum(getComputedStyle(e).color), b = lum(behind(e));
    if ((Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05) < 4.5) say("contrast", e);
    const box = e.getBoundingClientRect();
    if (box.left < -1 && box.width > 0) say("cut off at the left", e);
    if (box.right > innerWidth + 1 && !e.closest(".wide, .choices")) say("cut off at the right", e);
  }
  if (e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 && getComputedStyle(e).overflowX === "auto" && e.tabIndex < 0) say("not reached by key", e);
  if (e.matches("td, th, .labels li") && e.scrollWidth > e.clientWidth + 1) say("does not fit its box", e);
  if (e.matches("td.n, th.n") && getComputedStyle(e).textAlign !== "right") say("figure not aligned", e);
}
if (PRINTED) for (const e of document.querySelectorAll(".wide")) if (e.scrollWidth > e.clientWidth + 1) say("cut off on paper", e);
const boxes = [...document.querySelectorAll(".labels li, figure, table, .caution, h2, h3, p")].filter(e => !e.closest("li li"));
const rects = boxes.map(e => e.getBoundingClientRect());
for (let i = 0; i < boxes.length; i++) for (let j = i + 1; j < boxes.length; j++) {
  const [a, b] = [rects[i], rects[j]];
  if (boxes[i].contains(boxes[j]) || boxes[j].contains(boxes[i])) continue;
  if (Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1) say("overlap", boxes[i]);
}
for (const a of document.querySelectorAll("a[href^='#']")) if (a.tabIndex < 0 || !document.getElementById(a.hash.slice(1))) say("link", a);
frameElement.dataset.found = found.length ? found.slice(0, 20).join(" | ") : "nothing found in " + boxes.length + " boxes, letters of " + average().toFixed(3);
</script>"#;

/// A page as it is shown: how wide in pixels, whether as on paper, and in which letters.
struct Shown<'p> {
    page: &'p str,
    width: u32,
    printed: bool,
    letters: Letters,
}

impl Shown<'_> {
    /// A frame of that width with the page in it.
    fn frame(&self) -> String {
        let look = LOOK.replace("PRINTED", &self.printed.to_string());
        let mut page = self
            .page
            .replace("</body>", &format!("{AVERAGE}{}{look}</body>", self.letters.set()));
        if self.printed {
            page = page.replace("@media print", "@media screen");
        }
        let page = page.replace('&', "&amp;").replace('"', "&quot;");
        format!(
            "<iframe style=\"border:0\" width=\"{}\" height=\"900\" srcdoc=\"{page}\"></iframe>\n",
            self.width
        )
    }
}

/// What is wrong with each page as it is shown.
fn looked_at(chromium: &Path, bench: &Bench, shown: &[Shown<'_>]) -> Result<Vec<String>, Box<dyn Error>> {
    let frames: String = shown.iter().map(Shown::frame).collect();
    let file = bench.write(
        "shown.html",
        &format!("<!DOCTYPE html>\n<meta charset=\"utf-8\"/>{frames}"),
    )?;
    let dom = browse(chromium, &file, &["--dump-dom"])?;
    let found = dom.split(" data-found=\"").skip(1);
    let found: Vec<String> = found.filter_map(|f| f.split('"').next()).map(str::to_owned).collect();
    match found.len() == shown.len() {
        true => Ok(found),
        false => Err(format!("{} pages were shown, {} were looked at", shown.len(), found.len()).into()),
    }
}

/// Lays the demo's files on the bench.
fn demo(bench: &Bench) -> Checked {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/lighthouse");
    for name in ["job.json", "stock.csv", "lamp.svg", "waves.svg", "quarries.dxf"] {
        fs::copy(fixtures.join(name), bench.path(name))?;
    }
    Ok(())
}

/// Compares the demo as it stands with another choice.
fn compared_demo(bench: &Bench) -> Checked {
    let path = |name: &str| bench.path(name).display().to_string();
    let compare = [
        "compare",
        &path("job.json"),
        "--stock",
        &path("stock.csv"),
        "--out",
        &path("out"),
    ];
    let done = typed(
        &[
            &compare[..],
            &["--try", "bevels on 5 mm glass", "--rounds", "1", "--seeds", "1"],
        ]
        .concat(),
    );
    assert_eq!(done.exit, Exit::Done, "{}", done.err);
    Ok(())
}

/// The look itself finds what is planted in `page`.
fn planted_faults_are_seen(chromium: &Path, bench: &Bench, page: &str) -> Checked {
    let faults = [
        "<p style=\"width:3000px\">wide</p>",
        "<p style=\"color:#999\">pale</p>",
        "<p style=\"margin-top:-3rem\">on top</p>",
        "<div style=\"overflow-x:auto;width:50px\"><p style=\"width:90px\">not reached</p></div>",
    ];
    let faulty = faults.map(|fault| page.replace("</main>", &format!("{fault}</main>")));
    let shown = faulty.each_ref().map(|page| Shown {
        page,
        width: 1200,
        printed: false,
        letters: Letters::Own,
    });
    for (fault, found) in faults.iter().zip(looked_at(chromium, bench, &shown)?) {
        assert!(!found.starts_with("nothing"), "{fault}");
    }
    Ok(())
}

/// A page on a wide screen, on a phone, and on A4 and Letter.
fn page_holds(chromium: &Path, bench: &Bench, name: &str, page: &str) -> Checked {
    // The printed width inside margins of 12 mm, in CSS pixels (96 an inch).
    let paper = |width_mm: f64| ((width_mm - 24.0) / 25.4 * 96.0) as u32;
    // On the narrowest paper in all letters; elsewhere the widest show first what does not fit.
    let [own, .., widest] = LETTERS;
    let a4 = LETTERS.map(|letters| (paper(210.0), true, letters));
    let others = [
        (paper(215.9), true, widest),
        (1200, false, widest),
        (390, false, widest),
        (390, false, own),
    ];
    let shown = a4.into_iter().chain(others).map(|(width, printed, letters)| Shown {
        page,
        width,
        printed,
        letters,
    });
    let shown: Vec<Shown<'_>> = shown.collect();
    let mut seen = BTreeSet::new();
    for (shown, found) in shown.iter().zip(looked_at(chromium, bench, &shown)?) {
        let Shown {
            width,
            printed,
            letters,
            ..
        } = shown;
        assert!(
            found.starts_with("nothing found in"),
            "{name}, {width} px, printed {printed}, {letters:?}: {found}"
        );
        seen.extend(found.rsplit(' ').next().map(str::to_owned));
    }
    eprintln!("{name}: looked at in letters of {seen:?}");
    assert!(seen.len() >= 2, "{name}: only letters of {seen:?}");
    Ok(())
}

/// How many sheets of paper a page takes.
fn page_is_printed(chromium: &Path, bench: &Bench, name: &str, page: &str) -> Checked {
    for (paper, most) in [("A4", 40), ("Letter", 40)] {
        let sized = page.replace("@page{", &format!("@page{{size:{paper};"));
        let file = bench.write("printed.html", &sized)?;
        let pdf = format!("--print-to-pdf={}", bench.path("printed.pdf").display());
        browse(chromium, &file, &["--no-pdf-header-footer", &pdf])?;
        let pdf = fs::read(bench.path("printed.pdf"))?;
        let pdf = String::from_utf8_lossy(&pdf);
        let count = pdf.matches("/Type /Page\n").count();
        assert!((2..=most).contains(&count), "{name} on {paper}: {count} pages");
        eprintln!("{name} on {paper}: {count} pages");
    }
    Ok(())
}

/// The demo's book as a browser has it, on a wide screen, on a phone, and on A4 and Letter; where there is no browser, nothing is looked
/// at, and that is said.
#[test]
fn the_book_holds_in_a_browser() -> Checked {
    let Some(chromium) = chromium() else {
        return Ok(passed_over("the job book in a browser: there is no chromium")?);
    };
    let bench = Bench::new()?;
    demo(&bench)?;
    let page = book(&bench, "1")?;
    planted_faults_are_seen(&chromium, &bench, &page)?;
    page_holds(&chromium, &bench, "book", &page)?;
    page_is_printed(&chromium, &bench, "book", &page)
}

/// The same for its comparison with another choice.
#[test]
fn the_comparison_holds_in_a_browser() -> Checked {
    let Some(chromium) = chromium() else {
        return Ok(passed_over("the comparison in a browser: there is no chromium")?);
    };
    let bench = Bench::new()?;
    demo(&bench)?;
    compared_demo(&bench)?;
    let page = fs::read_to_string(bench.path("out/compare.html"))?;
    page_holds(&chromium, &bench, "compare", &page)?;
    page_is_printed(&chromium, &bench, "compare", &page)
}

/// A job whose panel names neither sizes nor leads says so instead of leaving blanks.
#[test]
fn outlines_without_a_drawing_have_no_leads() -> Checked {
    let bench = Bench::new()?;
    let job: Value = job(&[bare_glass("A", 3.0)], 1, &[rectangle("1", "A", 100.0, 100.0)]);
    bench.write("job.json", &job.to_string())?;
    bench.write(
        "stock.csv",
        "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,600,600,1\n",
    )?;
    let page = book(&bench, "1")?;
    assert!(page.contains("No panel of this job came from a drawing"));
    assert!(page.contains("glass overall 100.0 × 100.0 mm"));
    Ok(())
}

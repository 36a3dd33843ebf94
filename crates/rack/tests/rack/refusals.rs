//! Bad stock lists: every one gets findings with line and column, all at once.

use cullet_rack::Stock;

const HEADER: &str = "kind,tag,glass,units,width,height,count,outline,grain,lot,place,flaws,price\n";

/// Compares the findings, written `place: found, expected`, in their order.
#[track_caller]
fn check(list: &str, expected: &[&str]) {
    let found: Vec<String> = match Stock::read_csv("stock.csv", list) {
        Ok(_) => vec![],
        Err(findings) => {
            assert!(findings.0.iter().all(|f| f.file == "stock.csv" && !f.hint.is_empty()));
            findings
                .0
                .iter()
                .map(|f| format!("{}: {}, {}", f.place, f.found, f.expected))
                .collect()
        }
    };
    assert_eq!(found, expected, "all findings: {found:#?}");
}

/// The same for lines under the usual header, the first of them line 2.
#[track_caller]
fn check_lines(lines: &str, expected: &[&str]) {
    check(&format!("{HEADER}{lines}"), expected);
}

#[test]
fn good_lines() {
    check_lines("sheet,A,CL,mm,1200,800,3\n", &[]);
    check_lines("sheet,A,CL,in,24,48 1/2,buy,,0,L7,bay 2,,12.50\n", &[]);
    check_lines(
        "offcut,A,CL,mm,,,,0 0; 400 0; 400 300; 100 300,,,,50 50 5|300 100; 310 100; 310 110\n",
        &[],
    );
    check_lines("offcut,A,CL,mm,300,200,2\n", &[]);
    check_lines("Sheet,A,CL,MM,1200,800,Buy\n", &[]);
}

#[test]
fn every_cell_is_checked() {
    check_lines(
        "shet,,,cm,1,1,x,,north,,,,-3\n",
        &[
            "line 2, column \"kind\": \"shet\", sheet or offcut",
            "line 2, column \"tag\": nothing, a name",
            "line 2, column \"glass\": nothing, a name",
            "line 2, column \"units\": \"cm\", mm or in",
            "line 2, column \"grain\": \"north\", an angle from -360 to 360 degrees",
            "line 2, column \"price\": \"-3\", a price, 0 or more",
        ],
    );
}

#[test]
fn sizes() {
    check_lines(
        "sheet,A,CL,mm,NaN,800,1\nsheet,B,CL,mm,-5,0,1\nsheet,C,CL,mm,24 1/2,800,1\nsheet,D,CL,in,1830,48,1\n\
         sheet,E,CL,mm,24,48,1\nsheet,F,CL,mm,,,1\n",
        &[
            "line 2, column \"width\": \"NaN\", a size above 0",
            "line 3, column \"width\": \"-5\", a size above 0",
            "line 3, column \"height\": \"0\", a size above 0",
            "line 4, column \"width\": \"24 1/2\", a size above 0",
            "line 5, column \"width\": 1830, which is 46.5 m, at most 10 m",
            "line 6, column \"width\": a sheet of 24.0 × 48.0 mm, a side of at least 100 mm",
            "line 7, column \"width\": nothing, a size above 0",
            "line 7, column \"height\": nothing, a size above 0",
        ],
    );
}

#[test]
fn counts() {
    check_lines(
        "sheet,A,CL,mm,1200,800,some\nsheet,B,CL,mm,1200,800,\nsheet,C,CL,mm,1200,800,-1\noffcut,D,CL,mm,300,200,buy\n\
         sheet,E,CL,mm,1200,800,4000000000\n",
        &[
            "line 2, column \"count\": \"some\", a whole number, or buy",
            "line 3, column \"count\": nothing, a whole number, or buy",
            "line 4, column \"count\": \"-1\", a whole number, or buy",
            "line 5, column \"count\": \"buy\", a whole number",
            "line 6, column \"count\": \"4000000000\", a whole number, or buy",
        ],
    );
}

#[test]
fn outlines() {
    check_lines(
        "sheet,A,CL,mm,,,1,0 0; 9 0; 9 9\noffcut,B,CL,mm,,,1\noffcut,C,CL,mm,300,,1,0 0; 9 0; 9 9\n\
         offcut,D,CL,mm,,,1,0 0; 100 100; 100 0; 0 100\noffcut,E,CL,mm,,,1,0 0; 100\n\
         offcut,F,CL,mm,,,1,0 0; 20000 0; 0 20000\noffcut,G,CL,mm,,,1,0 0; nan 0; 0 5\n",
        &[
            "line 2, column \"outline\": an outline, nothing: a sheet is rectangular",
            "line 3, column \"outline\": nothing, the offcut's outline",
            "line 4, column \"outline\": an outline as well as width and height, one of the two",
            "line 5, column \"outline\": an outline whose sides cross or touch at (50.000, 50.000), a simple closed shape",
            "line 6, column \"outline\": \"100\" as corner 2, two numbers, `x y`",
            "line 7, column \"outline\": an outline 20.0 m long, at most 10 m",
            "line 8, column \"outline\": \"nan 0\" as corner 2, two numbers, `x y`",
        ],
    );
}

#[test]
fn flaws() {
    check_lines(
        "sheet,A,CL,mm,1200,800,2,,,,,50 50 5\nsheet,B,CL,mm,1200,800,1,,,,,50 50 0|9000 0 5|5 5\n",
        &[
            "line 2, column \"count\": flaws on more than one sheet, count 1",
            "line 3, column \"flaws\": a flaw of radius 0, a radius above 0",
            "line 3, column \"flaws\": the flaw \"5 5\", a circle `x y radius` or a polygon `x y; x y; x y`",
            "line 3, column \"flaws\": flaw 1 beside the glass, a flaw on the glass",
        ],
    );
}

#[test]
fn tags_are_unique_and_lines_counted_past_blanks_comments_and_breaks_in_cells() {
    check(
        &format!(
            "# the rack in March\r\n\r\n{}sheet,A,CL,mm,1200,800,3\r\n\r\n# more\r\n,,,\r\noffcut,B,CL,mm,,,1,\"0 0;\r\n90 0;\r\n\
             90 90\"\r\nsheet,A,CL,mm,1200,800,x",
            HEADER.replace('\n', "\r\n")
        ),
        &[
            "line 11, column \"tag\": \"A\" again, it stands on line 4 already, each tag once",
            "line 11, column \"count\": \"x\", a whole number, or buy",
        ],
    );
}

#[test]
fn headers() {
    check(
        "",
        &["the whole file: no line, a line of column names and a line for each sheet or offcut"],
    );
    check(
        "# nothing\n\n",
        &["the whole file: no line, a line of column names and a line for each sheet or offcut"],
    );
    check(
        HEADER,
        &["the whole file: column names alone, a line for each sheet or offcut"],
    );
    check(
        "kind,tag,glas,width,height,count,count\nsheet,A,CL,1200,800,1,1\n",
        &[
            "line 1: the unknown column \"glas\", only columns that a stock list has",
            "line 1: the column \"count\" twice, each column once",
            "line 1: no column \"glass\", the columns kind, tag, glass, units, count",
            "line 1: no column \"units\", the columns kind, tag, glass, units, count",
        ],
    );
}

#[test]
fn a_comma_too_many() {
    check_lines(
        "sheet,A,CL,mm,1200,800,3,,,,,,12,50\n",
        &["line 2: 14 cells, 13, as in the line of column names"],
    );
}

#[test]
fn limits() {
    let long = format!("{HEADER}{}", "\n".repeat(60_000));
    check(
        &long,
        &["the whole file: 0.1 MB in 60001 lines, at most 8.4 MB in 50000 lines"],
    );
    let corners = "1 1;".repeat(1_000_000);
    check_lines(
        &format!("offcut,A,CL,mm,,,1,{corners}\n"),
        &["line 2, column \"outline\": an outline of 1000001 corners, at most 5000"],
    );
}

//! Piece lists: read as the stock list is, checked as a job is, told by line and column.

use cullet_job::{Job, PIECE_COLUMNS, ReadWith, ShapeKind, Shop};

#[track_caller]
fn read(text: &str) -> Job {
    match Job::read_as("porch.csv", text, ReadWith::default(), |_, _| {}) {
        Ok(job) => job,
        Err(findings) => panic!("{findings}\n{text}"),
    }
}

/// Each finding as `place: found`.
#[track_caller]
fn refused(text: &str, expected: &[&str]) {
    let findings = match Job::read_as("porch.csv", text, ReadWith::default(), |_, _| {}) {
        Ok(_) => panic!("read:\n{text}"),
        Err(findings) => findings,
    };
    let told: Vec<String> = findings.0.iter().map(|f| format!("{}: {}", f.place, f.found)).collect();
    assert_eq!(told, expected, "{findings}\n{text}");
}

#[test]
fn a_list_is_a_job() {
    let job = read(
        "# the porch\n\
         number,panel,glass,shape,width,height,rise,quantity,grain,bevel,nose,units,thickness,glass_grain,price\n\
         1,L,CL,,120,80,,,,,,mm,3,,20\n\
         2,L,CL,round arch,300,600,,2,,,,,,,\n\
         3,R,REED,Segmental_Arch,300,500,40,,across,,,,4,two-ways,48\n\
         4,R,REED,circle,,,,,,,,,,,\n"
            .replace("circle,,", "rectangle,90,50")
            .as_str(),
    );
    assert_eq!(job.name, "porch");
    let ids: Vec<String> = job
        .pieces
        .iter()
        .map(|p| format!("{}{}", p.id.panel, p.id.number))
        .collect();
    assert_eq!(ids, ["L1", "L2", "R3", "R4"]);
    assert_eq!(job.pieces[1].quantity, 2);
    assert_eq!((job.pieces[2].grain_deg, job.pieces[3].grain_deg), (0.0, 90.0));
    let glass = &job.glasses[1];
    assert_eq!(
        (glass.thickness, glass.price.0, glass.grind_allowance),
        (4.0, 48.0, 0.0)
    );
    assert_eq!(
        job.notes,
        [
            "Assumed for glass CL: no grain, no grinding allowance",
            "Assumed for glass REED: no grinding allowance"
        ]
    );
}

/// What a spreadsheet saves where commas are decimal: a byte order mark, semicolons, quotes, CR LF; names in capitals.
#[test]
fn as_spreadsheets_save_it() {
    let job = read(
        "\u{feff}Number;Glass;Shape;Width;Height;Quantity;Units;Thickness;Glass name\r\n\
         \"1\";CL;\"\";120,5;80;4;mm;3;\"Clear; \"\"restoration\"\"\"\r\n\
         2;CL;half round;300;;;;;\r\n",
    );
    assert_eq!(job.pieces[0].finished.bounds().width(), 120.5);
    assert_eq!(job.glasses[0].name, "Clear; \"restoration\"");
    let tabs = read("number\tglass\twidth\theight\tunits\tthickness\n1\tCL\t4 1/2\t3\tin\t1/8\n");
    assert!((tabs.pieces[0].finished.bounds().width() - 114.3).abs() < 1e-9);
    assert!((tabs.glasses[0].thickness - 3.175).abs() < 1e-9);
    // A price is for a square foot where the sizes are inches.
    assert!((tabs.glasses[0].price_per_mm2 - 1.0 / 92_903.04).abs() < 1e-12);
}

#[test]
fn numbers_that_read_in_two_ways_are_not_guessed_at() {
    refused(
        "number;glass;width;height;units;thickness\n1;CL;1.220;610;mm;3\n2;CL;500;400,5;mm;3\n",
        &["line 2, column \"width\": \"1.220\", which is 1220 with a mark for thousands and 1,22 with a decimal point"],
    );
}

#[test]
fn a_title_is_named() {
    refused(
        "Kitchen window;;\nnumber;glass;width;height\n1;CL;12;13\n",
        &["line 1: \"Kitchen window;;\" above the column names, which stand on line 2"],
    );
}

#[test]
fn everything_wrong_is_told_by_line_and_column() {
    refused(
        "number,glass,shape,width,height,rise,quantity,bevel,units,thickness\n\
         1,CL,round arch,300,120,,,,mm,3\n\
         2,CL,circle,300,,,,,,\n\
         3,CL,oval,300,200,,0,,,\n\
         1,CL,,300,200,,,12,,4\n\
         5,XX,,12x,200,,,,,\n\
         6,,,120,200,,,,in,\n",
        &[
            "line 4, column \"shape\": \"oval\"",
            "line 4, column \"quantity\": \"0\"",
            "line 5, column \"nose\": nothing",
            "line 5, column \"thickness\": 4 for glass CL",
            "line 5, column \"number\": \"1\" again, it stands on line 2 already",
            "line 6, column \"width\": \"12x\"",
            "line 7, column \"units\": in",
            "line 7, column \"glass\": nothing",
            "glass XX, column \"thickness\": nothing",
            "line 2, column \"height\": height 120 of a round arch 300 wide",
            "line 3, column \"diameter\": nothing",
            "line 3, column \"width\": width 300, which the circle does not have",
        ],
    );
}

#[test]
fn columns_are_checked() {
    refused(
        "number,glas,width,height,units,thickness\n1,CL,12,13,mm,3\n",
        &["line 1: the unknown column \"glas\"", "line 1: no column \"glass\""],
    );
    refused(
        "kind,tag,glass,units,width,height,count\nsheet,A,CL,mm,500,500,1\n",
        &["the whole file: what looks like a stock list"],
    );
    refused("number,glass\n", &["the whole file: column names alone"]);
    refused("", &["the whole file: no line"]);
    // Separators alone: found by the fuzzer.
    refused(";", &["the whole file: no line"]);
    refused(
        "number,glass,width,height\n1,CL,120,80\n",
        &["line 2, column \"units\": nothing"],
    );
}

/// A glass whose code is that of a column that is too thick, and so on: what the job says of glass is said by columns.
#[test]
fn what_the_job_finds_is_told_by_columns() {
    refused(
        "number,glass,width,height,units,thickness,grain,bevel,nose\n1,CL,120,80,mm,300,,,\n2,CL,120,80,,,45,,\n",
        &[
            "glass CL, column \"thickness\": 300 mm",
            "line 3, column \"grain\": a grain direction, but glass CL has no grain",
        ],
    );
    refused(
        "number,glass,width,height,units,thickness,bevel,nose\n1,CL,120,80,mm,6,20,7\n",
        &["line 2, column \"bevel\": a nose of 7 mm on glass of 6 mm"],
    );
}

#[test]
fn the_shop_file_gives_the_glasses() {
    let shop = r#"{"shop": "Museum workshop", "units": "in", "settings": {"keep": 8}, "glasses": [
        {"code": "CL", "name": "Clear", "thickness": 0.125, "grain": "none", "may_turn_over": true, "scored_face": "show",
         "grind_allowance": 0.02, "price": 5, "price_unit": "ft2"}]}"#;
    let shop = Shop::read("shop.json", shop).expect("a shop file");
    let with = ReadWith {
        shop: Some(&shop),
        ..ReadWith::default()
    };
    let job = Job::read_as(
        "porch.csv",
        "number,glass,width,height\n1,CL,4 1/2,3\n",
        with,
        |_, _| {},
    )
    .expect("a list");
    assert!((job.pieces[0].finished.bounds().width() - 114.3).abs() < 1e-9);
    assert!((job.keep - 203.2).abs() < 1e-9);
    assert_eq!(job.notes, ["From shop.json: glass CL; settings keep"]);
    // Its own unit counts for its own sizes.
    let list = "number,glass,width,height,units\n1,CL,120,80,mm\n";
    let job = Job::read_as("porch.csv", list, with, |_, _| {}).expect("a list");
    assert!((job.pieces[0].finished.bounds().width() - 120.0).abs() < 1e-9);
    assert!((job.glasses[0].thickness - 3.175).abs() < 1e-9);
}

/// Every shape can be listed, by the names of its sizes.
#[test]
fn every_shape_can_be_listed() {
    let sizes = [
        ("width", "200"),
        ("height", "300"),
        ("diameter", "80"),
        ("radius", "20"),
        ("rise", "60"),
        ("top", "60"),
        ("side", "50"),
        ("sides", "6"),
        ("clip", "20"),
    ];
    let mut names: Vec<&str> = vec!["number", "glass", "units", "thickness", "shape"];
    names.extend(sizes.map(|(name, _)| name));
    let mut list = names.join(",") + "\n";
    for (k, kind) in ShapeKind::ALL.into_iter().enumerate() {
        let words = kind.sizes().split(" or ").next().unwrap_or_default();
        let words = words.split("perhaps").next().unwrap_or_default();
        let words: Vec<&str> = words.split(|c: char| !c.is_ascii_alphabetic()).collect();
        let cell = |(name, size): (&'static str, &'static str)| match (kind, name) {
            // Twice an alternative in words.
            (ShapeKind::Polygon, "side" | "sides") => size,
            (ShapeKind::PointedArch, "rise") => "180",
            _ if words.contains(&name) => size,
            _ => "",
        };
        let cells: Vec<&str> = sizes.map(cell).to_vec();
        list += &format!("{k},CL,mm,3,{kind},{}\n", cells.join(","));
    }
    let job = read(&list);
    assert_eq!(job.pieces.len(), ShapeKind::ALL.len());
    assert!(PIECE_COLUMNS.starts_with(&["number", "glass"]));
}

/// One list as LibreOffice Calc 7.4 saves it: with commas, and in German with semicolons and with tabs.
#[test]
fn lists_that_a_spreadsheet_saved() {
    let read = |name: &str| {
        let file = format!(
            "{}/../../fixtures/piece_lists/by_libreoffice_{name}.csv",
            env!("CARGO_MANIFEST_DIR")
        );
        read(&std::fs::read_to_string(file).expect("a list"))
    };
    let commas = read("commas");
    assert_eq!(commas.pieces.len(), 5);
    assert_eq!(commas.pieces[0].finished.bounds().height(), 304.25);
    assert_eq!((commas.pieces[3].quantity, commas.glasses[2].price.0), (24, 60.0));
    assert_eq!(read("semicolons").pieces, commas.pieces);
    assert_eq!(read("tabs").pieces, commas.pieces);
}

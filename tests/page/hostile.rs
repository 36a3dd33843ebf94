//! Requests as somebody hostile would send them.

/// Numbers that look random and are the same every time (Steele, Lea and Flood, SplitMix64, 2014).
pub(crate) struct Random(pub(crate) u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `most`.
    pub(crate) fn below(&mut self, most: u64) -> u64 {
        self.next() % most
    }

    fn of<'a>(&mut self, list: &[&'a str]) -> &'a str {
        list[self.next() as usize % list.len()]
    }
}

const PATHS: [&str; 35] = [
    "/",
    "/job",
    "/job/edit",
    "/job/step",
    "/fits",
    "/job/redraw",
    "/jobs/card",
    "/jobs/picture",
    "/new",
    "/new/file",
    "/new/demo/../x",
    "/plan",
    "/plan/stop",
    "/plan/watch",
    "/sheets",
    "/sheet",
    "/sheet/breaks",
    "/file",
    "/broken",
    "/compare",
    "/compare/file",
    "/rack",
    "/rack/item",
    "/rack/picture",
    "/rack/add",
    "/rack/correct",
    "/rack/labels",
    "/rack/photo/measure",
    "/shop",
    "/shop/edit",
    "/assets/../Cargo.toml",
    "/assets/page.css",
    "/../../etc/passwd",
    "/%2e%2e/%2e%2e/etc/passwd",
    "/enter",
];
const NAMES: [&str; 17] = [
    "job.json",
    "../secret.txt",
    "..%2Fsecret.txt",
    "/etc/passwd",
    "link/secret.txt",
    "link",
    "deep/../../secret.txt",
    ".hidden",
    "job.json%00.svg",
    "%ff%fe",
    "",
    "shop.rack",
    "job.json/",
    "C:\\x",
    "%3Cscript%3E",
    "plan.json",
    "x.svg",
];
const FIELDS: [&str; 16] = [
    "job", "name", "rack", "tag", "map", "digest", "what", "panel", "numbers", "glass", "file", "from", "seconds",
    "marks", "corners", "list",
];

/// One request, more or less well-formed; whether it comes from a page of the program itself.
pub(crate) fn hostile(random: &mut Random, host: &str, cookie: &str) -> (Vec<u8>, bool) {
    let method = random.of(&[
        "GET", "POST", "POST", "PUT", "DELETE", "OPTIONS", "TRACE", "HEAD", "G\u{e4}T",
    ]);
    let (mut path, mut form) = (random.of(&PATHS).to_owned(), String::new());
    for _ in 0..random.next() % 5 {
        form += &format!("{}={}&", random.of(&FIELDS), random.of(&NAMES));
    }
    if random.next().is_multiple_of(2) {
        path += &format!("?{form}");
    }
    if random.next().is_multiple_of(40) {
        path += &"a".repeat(70_000);
    }
    let named = random.of(&[
        host,
        host,
        host,
        host,
        "evil.example",
        "127.0.0.1",
        "localhost:1",
        "[::1]",
        "",
    ]);
    let origin = random.of(&["own", "own", "own", "http://evil.example", "null", "none"]);
    let has_cookie = !random.next().is_multiple_of(4);
    let kind = random.of(&[
        "application/x-www-form-urlencoded",
        "application/octet-stream",
        "multipart/form-data",
        "text/plain",
        "",
    ]);
    let mut body = form.into_bytes();
    for _ in 0..random.next() % 60 {
        body.push(random.next() as u8);
    }
    let length = match random.next() % 12 {
        0 => "99999999999".to_owned(),
        1 => "-1".to_owned(),
        2 => "1".to_owned(),
        _ => body.len().to_string(),
    };
    let mut head = format!(
        "{method} {path} HTTP/1.1\r\nHost: {named}\r\nContent-Type: {kind}\r\nContent-Length: {length}\r\nConnection: close\r\n"
    );
    if has_cookie {
        head += &format!("Cookie: {cookie}\r\n");
    }
    match origin {
        "own" => head += &format!("Origin: http://{named}\r\n"),
        "none" => {}
        other => head += &format!("Origin: {other}\r\n"),
    }
    for _ in 0..random.next() % 3 * 50 {
        head += "X-More: more\r\n";
    }
    let is_own =
        has_cookie && named == host && (origin == "own" || (origin == "none" && matches!(method, "GET" | "HEAD")));
    let mut bytes = (head + "\r\n").into_bytes();
    bytes.extend(body);
    (bytes, is_own)
}

//! Which function answers which address, and what a request may bring.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::guard::Refused;
use crate::html::{self, Here};
use crate::{
    assets, broken, change, compare_page, fits, job, jobs, photo, plan_page, rack, redraw, sheets, shop, start,
};
use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::{Path, Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::Response;
use axum::routing::{MethodRouter, get, post};
use http_body_util::{BodyExt, Limited};
use maud::html;
use std::sync::{Arc, LazyLock};
use std::time::Duration;
use tokio::sync::Semaphore;

/// The most that a form may hold, bytes: 20,000 numbers of pieces.
const MOST_FORM: usize = 1 << 20;
/// The most that a file may hold, bytes.
const MOST_FILE: usize = 32 << 20;
/// How long a form may take, and a file.
const FORM_TIME: Duration = Duration::from_secs(15);
const FILE_TIME: Duration = Duration::from_secs(120);
/// Files that come in at a time: each is in memory as a whole.
static FILES: LazyLock<Semaphore> = LazyLock::new(|| Semaphore::new(2));
/// A wrong password costs this much time, and only one is looked at at a time.
const WRONG: Duration = Duration::from_secs(1);
static DOOR: LazyLock<Semaphore> = LazyLock::new(|| Semaphore::new(1));

/// Makes an answer.
pub(crate) type Answer = fn(&Arc<App>, &Asked) -> Result<Response, Problem>;
type Shared = State<Arc<App>>;

/// Pages and pictures.
pub(crate) const READ: &[(&str, Answer)] = &[
    ("/", jobs::page),
    ("/jobs/card", jobs::card),
    ("/jobs/picture", jobs::picture),
    ("/job", job::page),
    ("/fits", fits::page),
    ("/plan", plan_page::page),
    ("/plan/watch", plan_page::watch),
    ("/plan/state", plan_page::state),
    ("/shop", shop::page),
    ("/sheets", sheets::page),
    ("/sheet", sheets::sheet),
    ("/sheet/print", sheets::print),
    ("/sheet/breaks", sheets::breaks),
    ("/file", sheets::file),
    ("/broken", broken::page),
    ("/compare", compare_page::page),
    ("/compare/file", compare_page::file),
    ("/rack", rack::page),
    ("/rack/item", rack::item),
    ("/rack/picture", rack::picture),
    ("/rack/labels", rack::labels),
    ("/rack/history", rack::history),
    ("/rack/audit", rack::audit),
    ("/rack/list", rack::list),
    ("/rack/copy", rack::copy),
    ("/rack/photo", photo::page),
    ("/rack/marks", photo::sheets),
];

/// What changes something, by a form.
pub(crate) const DO: &[(&str, Answer)] = &[
    ("/job/edit", change::edit),
    ("/job/step", change::step),
    ("/plan", plan_page::plan),
    ("/plan/stop", plan_page::stop),
    ("/book", sheets::book),
    ("/book/undo", sheets::undo),
    ("/book/release", sheets::release),
    ("/broken", broken::take),
    ("/compare", compare_page::compare),
    ("/rack/add", rack::add),
    ("/rack/import", rack::import),
    ("/rack/correct", rack::correct),
    ("/rack/units", rack::units),
    ("/rack/throw-away", rack::throw_away),
    ("/rack/photo/measure", photo::measure),
    ("/new", start::new),
    ("/new/demo", start::demo),
    ("/shop/start", shop::start),
    ("/shop/edit", shop::edit),
];

/// What brings a file.
pub(crate) const BRING: &[(&str, Answer)] = &[("/new/file", start::file), ("/job/redraw", redraw::redraw)];

pub(crate) fn router(app: Arc<App>) -> Router {
    let mut router = Router::new()
        .route("/assets/{name}", get(asset))
        .route("/enter", get(enter).post(password));
    for (path, answer) in READ {
        router = router.route(path, reading(*answer));
    }
    for (path, answer) in DO {
        router = router.route(path, doing(*answer));
    }
    for (path, answer) in BRING {
        router = router.route(path, bringing(*answer));
    }
    router
        .fallback(nothing)
        .method_not_allowed_fallback(nothing)
        .layer(middleware::from_fn_with_state(Arc::clone(&app), guarded))
        .with_state(app)
}

fn reading(answer: Answer) -> MethodRouter<Arc<App>> {
    get(move |State(app): Shared, request: Request| async move {
        let asked = Asked::new(request.uri().query().unwrap_or_default(), &[], vec![]);
        made(app, asked, answer).await
    })
}

fn doing(answer: Answer) -> MethodRouter<Arc<App>> {
    post(move |State(app): Shared, request: Request| async move {
        if !is_kind(&request, "application/x-www-form-urlencoded") {
            return answer::plain(StatusCode::UNSUPPORTED_MEDIA_TYPE, "a form is expected");
        }
        let query = request.uri().query().unwrap_or_default().to_owned();
        match body(request, MOST_FORM, FORM_TIME).await {
            Ok(form) => made(app, Asked::new(&query, &form, vec![]), answer).await,
            Err(refused) => refused,
        }
    })
}

fn bringing(answer: Answer) -> MethodRouter<Arc<App>> {
    post(move |State(app): Shared, request: Request| async move {
        if !is_kind(&request, "application/octet-stream") {
            return answer::plain(StatusCode::UNSUPPORTED_MEDIA_TYPE, "a file is expected");
        }
        let query = request.uri().query().unwrap_or_default().to_owned();
        let Ok(_room) = FILES.acquire().await else {
            return answer::plain(StatusCode::SERVICE_UNAVAILABLE, "later");
        };
        match body(request, MOST_FILE, FILE_TIME).await {
            Ok(bytes) => made(app, Asked::new(&query, &[], bytes.to_vec()), answer).await,
            Err(refused) => refused,
        }
    })
}

fn is_kind(request: &Request, kind: &str) -> bool {
    let own = request
        .headers()
        .get(header::CONTENT_TYPE)
        .and_then(|value| value.to_str().ok());
    own.is_some_and(|own| {
        own.split(';')
            .next()
            .unwrap_or_default()
            .trim()
            .eq_ignore_ascii_case(kind)
    })
}

async fn body(request: Request, most: usize, longest: Duration) -> Result<Bytes, Response> {
    let size = request
        .headers()
        .get(header::CONTENT_LENGTH)
        .and_then(|value| value.to_str().ok()?.parse::<usize>().ok());
    let too_large = || answer::plain(StatusCode::PAYLOAD_TOO_LARGE, "that is more than is taken in one go");
    if size.is_some_and(|size| size > most) {
        return Err(too_large());
    }
    match tokio::time::timeout(longest, Limited::new(request.into_body(), most).collect()).await {
        Ok(Ok(all)) => Ok(all.to_bytes()),
        Ok(Err(_)) => Err(too_large()),
        Err(_) => Err(answer::plain(StatusCode::REQUEST_TIMEOUT, "that took too long")),
    }
}

/// An answer made on a thread of its own; a fault of ours is one answer lost, not the program.
async fn made(app: Arc<App>, asked: Asked, answer: Answer) -> Response {
    let at = Arc::clone(&app);
    let back = asked.back();
    let made = tokio::task::spawn_blocking(move || answer(&at, &asked)).await;
    match made {
        Ok(Ok(response)) => response,
        Ok(Err(problem)) => html::problem(&problem, back.as_deref(), &|words| app.place.short(words)),
        Err(_) => answer::plain(
            StatusCode::INTERNAL_SERVER_ERROR,
            "internal fault: this could not be answered; nothing was changed",
        ),
    }
}

async fn guarded(State(app): Shared, request: Request, next: Next) -> Response {
    let path = request.uri().path();
    let is_entrance = path == "/enter" || matches!(path, "/assets/page.css" | "/assets/icon.svg");
    match app.guard.judge(request.method(), request.headers(), is_entrance) {
        Ok(()) => next.run(request).await,
        Err(Refused::Unknown) if app.guard.has_password() && request.method() == axum::http::Method::GET => {
            answer::go("/enter")
        }
        Err(Refused::Unknown) => {
            let body = html! {
                h1 { "Who is asking?" }
                p { "Open the address that the program printed when it was started: it lets this browser in." }
            };
            answer::page(
                StatusCode::FORBIDDEN,
                html::frame("Not let in", Here::Nowhere, &[], body),
            )
        }
        Err(_) => answer::plain(StatusCode::FORBIDDEN, "not asked by a page of this program"),
    }
}

async fn nothing(State(app): Shared) -> Response {
    html::problem(&Problem::NotThere, None, &|words| app.place.short(words))
}

async fn asset(State(app): Shared, Path(name): Path<String>) -> Response {
    match assets::of(&name) {
        Some(response) => response,
        None => nothing(State(app)).await,
    }
}

async fn enter(State(app): Shared, request: Request) -> Response {
    let asked = Asked::new(request.uri().query().unwrap_or_default(), &[], vec![]);
    if asked.get("token").is_some_and(|token| app.guard.knows_token(token)) {
        return let_in(&app);
    }
    if !app.guard.has_password() {
        let body = html! { h1 { "Not this address" } p { "It belongs to an earlier start of the program. Open the address that it printed last." } };
        return answer::page(
            StatusCode::FORBIDDEN,
            html::frame("Not let in", Here::Nowhere, &[], body),
        );
    }
    ask_password(StatusCode::OK, "")
}

fn ask_password(status: StatusCode, words: &str) -> Response {
    let body = html! {
        h1 { "Password" }
        @if !words.is_empty() { p role="alert" { (words) } }
        form method="post" action="/enter" {
            label.field { span { "Password" } input type="password" name="password" autocomplete="current-password" required; }
            button { "Enter" }
        }
    };
    answer::page(status, html::frame("Password", Here::Nowhere, &[], body))
}

fn let_in(app: &App) -> Response {
    let mut response = answer::go("/");
    if let Ok(cookie) = HeaderValue::from_str(&app.guard.cookie()) {
        response.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    response
}

async fn password(State(app): Shared, request: Request) -> Response {
    let Ok(form) = body(request, 4096, FORM_TIME).await else {
        return answer::plain(StatusCode::BAD_REQUEST, "a password is expected");
    };
    let asked = Asked::new("", &form, vec![]);
    let _one = DOOR.acquire().await;
    if asked.get("password").is_some_and(|word| app.guard.knows_password(word)) {
        return let_in(&app);
    }
    tokio::time::sleep(WRONG).await;
    ask_password(StatusCode::FORBIDDEN, "That is not the password.")
}

/// A stream of bytes that goes on as long as somebody listens.
pub(crate) fn stream(body: Body) -> Response {
    let mut response = answer::own("text/event-stream", body);
    response
        .headers_mut()
        .insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response
}

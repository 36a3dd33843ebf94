//! The page: a workshop's folder of jobs, drawings and glass, served to a browser from the user's own machine.
//!
//! # What it is for
//! [`Server::open`] takes a folder and an address, [`Server::run`] answers until it is told to stop. Everything that is done on the
//! page is done by the functions that the command line calls, on the same files, judged by the same readers and the same verifier.
//!
//! # How it goes
//! `wire` takes connections and bounds what they may cost. `guard` turns away whoever may not ask. `routes` says which function
//! answers which address; each answer is made by one module (`jobs`, `job`, `plan`, `sheets`, `rack`, `shop`, `photo`, `compare`), on a
//! thread of its own, from what lies in the folder at that moment. `place` is the only one that makes a path of a name that came from
//! outside. Pages are whole without scripts as far as reading goes; the scripts in `assets` are for what must move.
//!
//! # Main types
//! `App` is what all answers share: the folder, who may ask, the planning that runs. `Place` is the folder. `Problem` is why something
//! was not done, in words for the reader of a page. `Runs` is the queue of searches: one at a time, and they outlive the page that
//! asked for them.
//!
//! # Units
//! Millimetres and degrees inside, y up; what people read is in the unit of the job or the rack. y runs down in pictures only.
//!
//! # What it must not know
//! How pieces are nested, verified or drawn on maps; the command line. State lives in the files and the rack: what the server
//! remembers (searches, pictures) may be lost at any moment without loss to anybody.

mod answer;
mod app;
mod assets;
mod broken;
mod change;
mod compare_page;
mod deeds;
mod edit;
mod fits;
mod guard;
mod homography;
mod html;
mod job;
mod jobs;
mod json_text;
mod photo;
mod picture;
mod place;
mod plan_page;
mod plans;
mod rack;
mod redraw;
mod routes;
mod runs;
mod seen;
mod sheets;
mod shop;
mod start;
mod trial;
mod undo;
mod wire;

pub use app::Options;
pub use trial::Trial;
pub use wire::Server;

//! Several homes on one server: which home a request is for.
//!
//! Each home is a whole [`Home`] with a book of its own, so a page of one cannot ask another's book. The
//! board is a home too, without litters: the people of the board sign in there. Who is signed in there may
//! look into the homes that were named for them, and write nothing.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use axum::Router;
use axum::extract::{Request, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse as _, Redirect, Response};
use jiff::{SignedDuration, Timestamp};
use sha2::{Digest as _, Sha256};
use tokio::sync::Mutex;
use tower::ServiceExt as _;

use whelpward_app::access::{Role, signed_in};
use whelpward_app::{AppError, Book};
use whelpward_store::{HomeRow, Homes};

use crate::access::{Asker, Connection, Guest, HomeNetwork, SESSION, is_secure};
use crate::cookies::{keep, kept};
use crate::fault::Fault;
use crate::home::{Clock, Home};
use crate::routes::router;
use crate::server_clock::ServerClock;

/// So long the list of the homes is taken as it was read; a removed home is seen after that (our own).
const LIST_LASTS: SignedDuration = SignedDuration::from_secs(2);

/// Which home this browser looks at; opens nothing by itself.
const CHOSEN: &str = "whelpward_home";

/// The homes of one organisation, as one server process serves them.
pub struct Organisation {
    homes: Homes,
    board: Arc<Home>,
    board_pages: Router,
    folder: PathBuf,
    open: Mutex<BTreeMap<i64, (Arc<Home>, Router)>>,
    /// The list as it was read last, with the time of reading.
    listed: Mutex<Option<(Timestamp, Vec<HomeRow>)>>,
}

impl Organisation {
    /// # Errors
    /// The board's book cannot be read, or its folder not be written.
    pub async fn open(
        homes: Homes,
        folder: PathBuf,
        clock: Clock,
        hosts: Vec<String>,
        network: HomeNetwork,
    ) -> Result<Arc<Self>, AppError> {
        let secret = key_of(&homes.secret().await?);
        let board = Home::with_secret(Book::new(homes.board.clone()), folder.clone(), clock, hosts, secret)
            .await?
            .over_home_network(network)
            .with_server_clock(Arc::new(ServerClock::of_this_computer()));
        Ok(Arc::new_cyclic(|organisation| {
            let board = Arc::new(board.with_board(organisation.clone()));
            Self {
                board_pages: router(Arc::clone(&board)),
                board,
                homes,
                folder,
                open: Mutex::default(),
                listed: Mutex::default(),
            }
        }))
    }

    /// The board's own home: its doors, its audit.
    pub fn board(&self) -> &Arc<Home> {
        &self.board
    }

    /// Every page of every home.
    pub fn pages(self: &Arc<Self>) -> Router {
        Router::new().fallback(one).with_state(Arc::clone(self))
    }

    /// Every home. Each request asks for one, so the list is read anew only every two seconds, or for a number
    /// that does not stand in it: that home may just have been added.
    async fn list(&self, wanted: Option<i64>) -> Result<Vec<HomeRow>, AppError> {
        let now = (self.board.clock)();
        let mut listed = self.listed.lock().await;
        if let Some((read, rows)) = &*listed
            && (SignedDuration::ZERO..LIST_LASTS).contains(&now.duration_since(*read))
            && wanted.is_none_or(|number| rows.iter().any(|row| row.number == number))
        {
            return Ok(rows.clone());
        }
        let rows = self.homes.list().await?;
        *listed = Some((now, rows.clone()));
        Ok(rows)
    }

    async fn numbered(&self, number: i64) -> Result<Option<HomeRow>, AppError> {
        Ok(self.list(Some(number)).await?.into_iter().find(|row| row.number == number))
    }

    /// The homes that this one may see, in the order in which they were added.
    pub(crate) async fn seen_by(&self, asker: &Asker) -> Result<Vec<HomeRow>, AppError> {
        let all = self.list(None).await?;
        if asker.role == Role::Breeder {
            return Ok(all);
        }
        let seen = self.homes.seen_by(asker.carer().unwrap_or_default()).await?;
        Ok(all.into_iter().filter(|home| seen.contains(&home.number)).collect())
    }

    /// The home, opened when it is first asked for.
    pub(crate) async fn home(&self, row: &HomeRow) -> Result<(Arc<Home>, Router), AppError> {
        let mut open = self.open.lock().await;
        if let Some(found) = open.get(&row.number) {
            return Ok(found.clone());
        }
        let folder = self.folder.join(format!("home-{}", row.number));
        std::fs::create_dir_all(&folder)
            .map_err(|e| AppError::Said(format!("{} cannot be made: {e}", folder.display())))?;
        let book = Book::new(self.homes.store(row).await?);
        let secret = key_of(&row.secret);
        let home = Home::with_secret(book, folder, self.board.clock.clone(), self.board.hosts.clone(), secret)
            .await?
            .with_server_clock(Arc::clone(&self.board.server_clock));
        let home = match &self.board.doors.network {
            Some(network) => home.over_home_network(network.of_home(row.number)),
            None => home,
        };
        let home = Arc::new(home);
        let pages = router(Arc::clone(&home));
        open.insert(row.number, (Arc::clone(&home), pages.clone()));
        Ok((home, pages))
    }

    /// Who is signed in at the board and looks into this home, if that one may see it.
    async fn guest(
        &self,
        token: &str,
        connection: Option<Connection>,
        row: &HomeRow,
    ) -> Result<Option<Guest>, AppError> {
        if token.is_empty() {
            return Ok(None);
        }
        let Some(found) = signed_in(&self.homes.board, token, (self.board.clock)()).await? else { return Ok(None) };
        let address = connection.map(|c| c.address());
        let asker = Asker {
            role: found.role,
            device: found.device.id.clone(),
            signed_in: Some(found.device),
            address: address.unwrap_or_default(),
        };
        let sees = self.seen_by(&asker).await?.iter().any(|home| home.number == row.number);
        // Nothing of the home's own doors: no device of it, no person, no PIN.
        let device = format!("board-{}", asker.device);
        Ok(sees.then_some(Guest(Asker { role: Role::Reader, device, signed_in: None, ..asker })))
    }

    /// Ends the streams of every open page.
    pub(crate) async fn end(&self) {
        self.board.live.end();
        for (home, _) in self.open.lock().await.values() {
            home.live.end();
        }
    }
}

/// The key for the tokens of forms.
fn key_of(secret: &str) -> [u8; 32] {
    Sha256::digest(secret.as_bytes()).into()
}

async fn one(State(organisation): State<Arc<Organisation>>, request: Request) -> Response {
    match answer(&organisation, request).await {
        Ok(response) => response,
        Err(error) => Fault::App(error).into_response(),
    }
}

async fn answer(organisation: &Organisation, mut request: Request) -> Result<Response, AppError> {
    let path = request.uri().path().to_owned();
    let is_secure = is_secure(request.extensions());
    if let Some(rest) = path.strip_prefix("/to/") {
        return choose(organisation, rest, is_secure).await;
    }
    let chosen = kept(request.headers(), CHOSEN, is_secure).and_then(|n| n.parse::<i64>().ok());
    let row = match chosen {
        Some(number) => organisation.numbered(number).await?,
        None => None,
    };
    let is_board = path == "/board";
    if row.is_none() && path == "/" {
        return Ok(Redirect::to("/board").into_response());
    }
    let pages = match row.filter(|_| !is_board) {
        Some(row) => {
            let token = kept(request.headers(), SESSION, is_secure).unwrap_or_default().to_owned();
            let connection = Connection::of(request.extensions());
            if let Some(guest) = organisation.guest(&token, connection, &row).await? {
                request.extensions_mut().insert(guest);
            }
            organisation.home(&row).await?.1
        }
        None => organisation.board_pages.clone(),
    };
    Ok(pages.oneshot(request).await.into_response())
}

/// `/to/3/litter/…` looks at home 3 from now on, `/to/board` at the board.
async fn choose(organisation: &Organisation, rest: &str, is_secure: bool) -> Result<Response, AppError> {
    let (home, page) = rest.split_once('/').unwrap_or((rest, ""));
    let known = match home.parse::<i64>() {
        Ok(number) => organisation.numbered(number).await?.is_some(),
        Err(_) => home == "board",
    };
    if !known || page.starts_with('/') || page.contains(['\\', '\n', '\r']) {
        return Ok(Fault::NotFound.into_response());
    }
    let to = if home == "board" { "/board".to_owned() } else { format!("/{page}") };
    let mut response = Redirect::to(&to).into_response();
    let value = if home == "board" { String::new() } else { home.to_owned() };
    let set = keep(CHOSEN, &value, is_secure);
    if let Ok(set) = HeaderValue::from_str(&set) {
        response.headers_mut().append(header::SET_COOKIE, set);
    }
    Ok(response)
}

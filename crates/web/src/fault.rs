//! Why a page cannot be shown, in words that say what is safe and what to do.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use whelpward_app::AppError;
use whelpward_app::access::Role;

use crate::access::Refused;
use crate::layout::bare_page;
use crate::words::{say, tell, word};

/// One reason, one status, one text.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    #[error("not found")]
    NotFound,
    #[error("asked for under another name")]
    WrongHost,
    #[error("sent from another page")]
    WrongOrigin,
    #[error("without the token of this browser")]
    WrongToken,
    #[error("from an address that is not of a home")]
    Foreign,
    #[error("a path that means another than it says")]
    Crooked,
    #[error("larger than any form")]
    TooLarge,
    #[error("its end did not come in time")]
    TooSlow,
    #[error("asked too often")]
    TooFast,
    #[error("nobody has signed in")]
    NotSignedIn,
    #[error("a {} may not do this", .0.word())]
    NotAllowed(Role),
    #[error("the form does not read")]
    BadForm,
    #[error("a computation ended early")]
    NoAnswer,
    #[error(transparent)]
    App(#[from] AppError),
}

impl Fault {
    /// The word of a refusal for the audit; none where nobody was kept out.
    fn refusal(&self) -> Option<&'static str> {
        Some(match self {
            Self::WrongHost => "host",
            Self::WrongOrigin => "origin",
            Self::WrongToken => "token",
            Self::Foreign => "foreign",
            Self::Crooked => "path",
            Self::TooLarge => "too-large",
            Self::TooSlow => "slow",
            Self::TooFast => "too-fast",
            Self::NotSignedIn => "signed-out",
            Self::NotAllowed(_) => "role",
            Self::NotFound | Self::BadForm | Self::NoAnswer | Self::App(_) => return None,
        })
    }
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        let refusal = self.refusal();
        let (status, title, text) = match self {
            Self::NotFound | Self::Crooked => {
                (StatusCode::NOT_FOUND, say("fault-not-found"), say("fault-not-found-text"))
            }
            Self::WrongHost => (StatusCode::MISDIRECTED_REQUEST, say("fault-refused"), say("fault-host-text")),
            Self::WrongOrigin => (StatusCode::FORBIDDEN, say("fault-refused"), say("fault-origin-text")),
            Self::WrongToken => (StatusCode::FORBIDDEN, say("fault-refused"), say("fault-token-text")),
            Self::Foreign => (StatusCode::FORBIDDEN, say("fault-refused"), say("fault-foreign-text")),
            Self::TooLarge => (StatusCode::PAYLOAD_TOO_LARGE, say("fault-refused"), say("fault-large-text")),
            Self::TooSlow => (StatusCode::REQUEST_TIMEOUT, say("fault-refused"), say("fault-slow-text")),
            Self::TooFast => (StatusCode::TOO_MANY_REQUESTS, say("fault-refused"), say("fault-fast-text")),
            Self::NotSignedIn => (StatusCode::UNAUTHORIZED, say("fault-refused"), say("fault-signed-out-text")),
            Self::NotAllowed(role) => {
                let text = tell("fault-role-text", &[("role", word("role", role.word()).into())]);
                (StatusCode::FORBIDDEN, say("fault-refused"), text)
            }
            Self::BadForm => (StatusCode::BAD_REQUEST, say("fault-refused"), say("fault-form-text")),
            Self::NoAnswer => (StatusCode::INTERNAL_SERVER_ERROR, say("fault-no-answer"), say("fault-no-answer-text")),
            Self::App(AppError::Store(error)) => {
                // What the database said is for the person at the computer, not for the page.
                eprintln!("the book: {error}");
                let text = tell("fault-book-text", &[("why", error.to_string().into())]);
                (StatusCode::INTERNAL_SERVER_ERROR, say("fault-not-saved"), text)
            }
            Self::App(error) => {
                (StatusCode::UNPROCESSABLE_ENTITY, say("fault-not-saved"), error.to_string().replace('\n', "; "))
            }
        };
        let mut response = (status, bare_page(&title, &text)).into_response();
        if let Some(word) = refusal {
            response.extensions_mut().insert(Refused::new(word));
        }
        response
    }
}

//! Taking the terminal and giving it back, whatever happens.

use ratatui::DefaultTerminal;
use ratatui::crossterm::cursor::Show;
use ratatui::crossterm::event::{
    DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture,
};
use ratatui::crossterm::execute;
use ratatui::crossterm::terminal::{EnterAlternateScreen, enable_raw_mode};
use ratatui::layout::Rect;
use std::io::{self, Write, stdout};
use std::mem::ManuallyDrop;

/// The terminal, taken; dropping it gives it back.
pub(super) struct Screen {
    /// To draw on. Never dropped: where the terminal is gone, ratatui's drop would write to
    /// an error output that is gone too, and abort the program.
    pub(super) terminal: ManuallyDrop<DefaultTerminal>,
}

impl Screen {
    /// Takes the terminal: raw mode, the other screen, paste as one thing, mouse.
    pub(super) fn take() -> io::Result<Self> {
        let hook = std::panic::take_hook();
        let terminal = ManuallyDrop::new(ratatui::try_init()?);
        // In place of the hook of `try_init`, which fails where the terminal is gone.
        std::panic::set_hook(Box::new(move |info| {
            give_back();
            hook(info);
        }));
        let screen = Self { terminal };
        extras_on()?;
        Ok(screen)
    }

    /// Gives the terminal to the shell, stops until it comes back, takes it again.
    #[cfg(unix)]
    pub(super) fn suspend(&mut self) -> io::Result<()> {
        give_back();
        signal_hook::low_level::emulate_default_handler(signal_hook::consts::SIGTSTP)?;
        self.take_again()
    }

    /// There is no shell to hand the terminal to.
    #[cfg(not(unix))]
    pub(super) fn suspend(&mut self) -> io::Result<()> {
        self.take_again()
    }

    /// After a stop, or when something else wrote on the screen.
    pub(super) fn take_again(&mut self) -> io::Result<()> {
        enable_raw_mode()?;
        execute!(stdout(), EnterAlternateScreen)?;
        extras_on()?;
        self.afresh()
    }

    /// Clears the screen; the next drawing draws every cell. Not by ratatui's
    /// `clear`, which asks the terminal where the cursor is: the thread that
    /// reads keys would take the answer.
    pub(super) fn afresh(&mut self) -> io::Result<()> {
        let size = self.terminal.size()?;
        let area = Rect::new(0, 0, size.width, size.height);
        self.terminal.resize(area)
    }

    /// Sounds the bell.
    pub(super) fn bell() -> io::Result<()> {
        let mut out = stdout();
        out.write_all(b"\x07")?;
        out.flush()
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        give_back();
    }
}

fn extras_on() -> io::Result<()> {
    execute!(stdout(), EnableBracketedPaste, EnableMouseCapture)
}

/// Errors are of no use here: the terminal may be gone already.
fn give_back() {
    let _ = execute!(stdout(), DisableMouseCapture, DisableBracketedPaste);
    let _ = ratatui::try_restore();
    let _ = execute!(stdout(), Show);
}

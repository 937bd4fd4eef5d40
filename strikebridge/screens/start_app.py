"""Run the start page and the review; like `app`, it imports Qt only when a window is opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.screens.app import WindowOptions, open_qt

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from strikebridge.looking_back import SessionDone
    from strikebridge.safekeeping.job import Tell
    from strikebridge.screens.report_desk import Wanted, Written
    from strikebridge.screens.review_model import Review
    from strikebridge.screens.start_model import Lead, Row


def run_start(
    look: Callable[[], Sequence[Row]], options: WindowOptions, said: str = ""
) -> Lead | None:
    """Show the start page until the coach goes somewhere or closes it.

    Args:
        look: finds out what is ready.
        options: how the window opens.
        said: what went wrong a moment ago, or empty.

    Returns:
        Where the coach went, None where the window was closed.

    Raises:
        ScreenError: no window can be opened here, and why.
    """
    app = open_qt()
    from strikebridge.screens.start import (  # noqa: PLC0415 - the terminal needs no Qt
        StartWindow,
    )

    window = StartWindow(look, scheme=options.scheme_now, said=said)
    window.showFullScreen() if options.is_full_screen else window.show()
    app.exec()
    options.keep(window.page.scheme.key)
    window.deleteLater()
    app.processEvents()
    return window.lead


def run_backup(make: Callable[[Tell], str], options: WindowOptions) -> str:
    """Make a backup while its page shows how far it has come; the coach may break it off.

    Args:
        make: makes it, on a thread, and says what was made.
        options: how the window opens.

    Returns:
        What was made, or why there is none.

    Raises:
        ScreenError: no window can be opened here, and why.
    """
    app = open_qt()
    from strikebridge.screens.backup_window import (  # noqa: PLC0415 - the terminal needs no Qt
        BackupWindow,
    )

    window = BackupWindow(make, scheme=options.scheme_now)
    window.showFullScreen() if options.is_full_screen else window.show()
    app.exec()
    window.errand.wait()
    options.keep(window.page.scheme.key)
    window.deleteLater()
    app.processEvents()
    return window.errand.done or window.errand.trouble


def run_review(review: Review, options: WindowOptions) -> None:
    """Show a review until its window is closed or any key is pressed.

    Args:
        review: what is shown.
        options: how the window opens.

    Raises:
        ScreenError: no window can be opened here, and why.
    """
    app = open_qt()
    from strikebridge.screens.review_window import (  # noqa: PLC0415 - the terminal needs no Qt
        ReviewWindow,
    )

    window = ReviewWindow(review, scheme=options.scheme_now)
    window.showFullScreen() if options.is_full_screen else window.show()
    app.exec()
    window.deleteLater()
    app.processEvents()


def run_session_review(
    done: SessionDone,
    fetch: Callable[[], SessionDone],
    write: Callable[[Wanted], Written],
    options: WindowOptions,
) -> None:
    """Show what was done in a session until its window is closed.

    Args:
        done: what was done, without the curves.
        fetch: fetches the same with its curves, on a thread.
        write: writes a report of it, on a thread.
        options: how the window opens.

    Raises:
        ScreenError: no window can be opened here, and why.
    """
    app = open_qt()
    from strikebridge.screens.report_desk import ReportDesk  # noqa: PLC0415 - as above
    from strikebridge.screens.session_review import (  # noqa: PLC0415 - the terminal needs no Qt
        SessionReviewWindow,
    )
    from strikebridge.screens.session_review_model import (  # noqa: PLC0415 - with it
        SessionReview,
    )
    from strikebridge.screens.viewer import open_in_viewer  # noqa: PLC0415 - with it

    review = SessionReview(done, options.unit_now)
    window = SessionReviewWindow(
        review,
        fetch,
        scheme=options.scheme_now,
        reports=ReportDesk(write, open_in_viewer),
    )
    window.showFullScreen() if options.is_full_screen else window.show()
    app.exec()
    options.keep(window.page.scheme.key, review.unit)
    window.deleteLater()
    app.processEvents()

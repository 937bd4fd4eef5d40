"""A form: what has to be typed, in the colours of the pages; plain fields of Qt.

Tab goes on, Enter keeps, Esc leaves. What is wrong stands beside its field, and nothing that
was typed is lost until the coach leaves.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from strikebridge.pages.sheet import FieldKind
from strikebridge.screens.look import DARK, Scheme
from strikebridge.screens.overriding import override

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QKeyEvent, QResizeEvent

    from strikebridge.club.entry import FieldFault
    from strikebridge.pages.sheet import Field, Form

FOOTER = "Tab: next field      Enter: keep      Esc: back without keeping"
LEAVE_WORDS = "Esc again leaves, and what was typed is gone. Enter keeps it."
NOTHING_NAMED = "nothing said"
TEXT_SHARE = 0.0285  # height of the letters' em as a share of the window, at most
ROOM_SHARE = 0.80  # of the height for the fields, in em: so many a field, so many beside
FIELD_EMS, OTHER_EMS = 2.0, 9.0
MOST_LETTERS = 2000  # a path; the fields themselves are checked by the page
Editor = QLineEdit | QComboBox | QCheckBox


class FormWidget(QWidget):
    """Ask for fields.

    Attributes:
        form: what is asked, None before the first.
        editors: key of the field -> what it is typed into.
        remarks: key of the field -> its hint, or what is wrong with it.
        kept: emitted with the fields, text by key, when the coach keeps them.
        left: emitted when the coach leaves without keeping.
    """

    kept = Signal(dict)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """Make an empty form.

        Args:
            parent: window it lies in, or None.
        """
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setObjectName("form")
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
        self.form: Form | None = None
        self.editors: dict[str, Editor] = {}
        self.remarks: dict[str, QLabel] = {}
        self._first: dict[str, str] = {}
        self._is_warned = False
        self._scheme = DARK
        self._title, self._tell = QLabel(), QLabel()
        self._said, self._keys = QLabel(), QLabel(FOOTER)
        self._title.setObjectName("tell")
        self._keys.setObjectName("quiet")
        self._keys.setAlignment(Qt.AlignmentFlag.AlignCenter)
        for label in (self._title, self._tell, self._said):
            label.setWordWrap(True)
        self._grid_holder = QWidget()
        self._layout = QVBoxLayout(self)
        for part in (self._title, self._tell, self._grid_holder, self._said):
            self._layout.addWidget(part)
        self._layout.addStretch(1)
        self._layout.addWidget(self._keys)

    def set_scheme(self, scheme: Scheme) -> None:
        """Change the colours."""
        self._scheme = scheme
        self._dress()

    def ask(self, form: Form) -> None:
        """Show a form with its first values.

        Args:
            form: what is asked.
        """
        self.form = form
        self.editors, self.remarks = {}, {}
        self._is_warned = False
        self._title.setText(form.title)
        self._tell.setText(form.tell)
        self._said.setText("")
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setColumnStretch(0, 3)
        grid.setColumnStretch(1, 5)
        grid.setColumnStretch(2, 8)
        for number, field in enumerate(form.fields):
            label = QLabel(field.label)
            editor, shown = self._editor(field)
            remark = QLabel(field.hint)
            remark.setWordWrap(True)
            remark.setObjectName("quiet")
            label.setBuddy(editor)
            editor.setAccessibleName(field.label)
            self.editors[field.key], self.remarks[field.key] = editor, remark
            for column, part in enumerate((label, shown, remark)):
                grid.addWidget(part, number, column)
        self._layout.replaceWidget(self._grid_holder, holder)
        self._grid_holder.deleteLater()
        self._grid_holder = holder
        self._first = self.fields()
        self._dress()
        self._focus(form.fields[0].key)

    def fields(self) -> dict[str, str]:
        """Give what stands in the fields, text by key."""
        return {key: _text(editor) for key, editor in self.editors.items()}

    def mind(self, faults: Sequence[FieldFault], refused: str) -> None:
        """Say what is wrong, each beside its field; what was typed stays.

        Args:
            faults: what is wrong.
            refused: why nothing was done where no field is to blame, may be empty.
        """
        by_key = {fault.field: fault.words for fault in reversed(faults)}
        if self.form is None:
            return
        for field in self.form.fields:
            remark, words = self.remarks[field.key], by_key.get(field.key, "")
            remark.setText(words[:1].upper() + words[1:] if words else field.hint)
            remark.setObjectName("fault" if words else "quiet")
            self.editors[field.key].setProperty("fault", bool(words))
        elsewhere = [fault.words for fault in faults if fault.field not in self.editors]
        said = " ".join([*elsewhere, refused] if refused else elsewhere)
        many = len(by_key)
        if many and not said:
            what = "1 field is" if many == 1 else f"{many} fields are"
            said = f"Nothing was kept yet: {what} to be mended."
        self._said.setText(said)
        self._dress()
        self._focus(next((key for key in self.editors if key in by_key), ""))

    @override
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keep or leave; every other key is the field's."""
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.kept.emit(self.fields())
        elif key == Qt.Key.Key_Escape:
            if self.fields() != self._first and not self._is_warned:
                self._is_warned = True
                self._said.setText(LEAVE_WORDS)
            else:
                self.left.emit()
        else:
            super().keyPressEvent(event)

    @override
    def resizeEvent(self, event: QResizeEvent) -> None:
        """Scale the letters anew."""
        super().resizeEvent(event)
        self._dress()

    @override
    def minimumSizeHint(self) -> QSize:
        """Let the window be as small as it likes; the letters follow."""
        return QSize(0, 0)

    def _editor(self, field: Field) -> tuple[Editor, QWidget]:
        """Make what a field is typed into, and what is shown of it."""
        match field.kind:
            case FieldKind.CHOICE:
                combo = QComboBox()
                combo.addItems([word or NOTHING_NAMED for word in field.words])
                combo.setCurrentIndex(max(0, _index(field.words, field.value)))
                return combo, combo
            case FieldKind.YES:
                check = QCheckBox("yes")
                check.setChecked(field.value == "yes")
                return check, check
            case FieldKind.FILE:
                line = self._line(field)
                return line, self._with_search(line)
            case FieldKind.TEXT:
                line = self._line(field)
                return line, line

    def _line(self, field: Field) -> QLineEdit:
        line = QLineEdit(field.value)
        line.setMaxLength(MOST_LETTERS)
        return line

    def _with_search(self, line: QLineEdit) -> QWidget:
        """Put a button beside a field that looks for the file."""
        both = QWidget()
        row = QHBoxLayout(both)
        row.setContentsMargins(0, 0, 0, 0)
        button = QPushButton("Look for it")
        button.setAutoDefault(True)  # Enter on it looks, and does not keep
        button.clicked.connect(lambda: self._search(line))
        row.addWidget(line, 1)
        row.addWidget(button)
        return both

    def _search(self, line: QLineEdit) -> None:
        dialog = QFileDialog(self, "The table of athletes", "", "Tables (*.csv);;All (*)")
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        if dialog.exec():
            line.setText(dialog.selectedFiles()[0])
        dialog.deleteLater()
        line.setFocus()

    def _focus(self, key: str) -> None:
        if key in self.editors:
            editor = self.editors[key]
            editor.setFocus()
            if isinstance(editor, QLineEdit):
                editor.selectAll()

    def _dress(self) -> None:
        """Write the colours and the size of the letters."""
        fields = len(self.editors)
        share = min(TEXT_SHARE, ROOM_SHARE / (FIELD_EMS * fields + OTHER_EMS))
        self.setStyleSheet(_style(self._scheme, max(9, round(share * self.height()))))
        margin = round(0.02 * self.height())
        self._layout.setContentsMargins(2 * margin, margin, 2 * margin, margin)
        self._layout.setSpacing(round(0.008 * self.height()))
        grid = self._grid_holder.layout()
        if isinstance(grid, QGridLayout):
            grid.setVerticalSpacing(round(0.007 * self.height()))
            grid.setHorizontalSpacing(round(0.025 * self.height()))


def _text(editor: Editor) -> str:
    if isinstance(editor, QLineEdit):
        return editor.text()
    if isinstance(editor, QCheckBox):
        return "yes" if editor.isChecked() else ""
    words = editor.currentText()
    return "" if words == NOTHING_NAMED else words


def _index(words: Sequence[str], value: str) -> int:
    return words.index(value) if value in words else 0


def _style(scheme: Scheme, em: int) -> str:
    pad, line = max(1, em // 6), max(1, em // 12)
    edge = 2 * line
    return f"""
#form {{ background: {scheme.ground}; }}
QWidget {{ color: {scheme.ink}; font-size: {em}px; font-family: "DejaVu Sans", sans-serif; }}
QLabel, QCheckBox {{ background: transparent; }}
QLabel#tell {{ font-size: {round(1.8 * em)}px; font-weight: bold; }}
QLabel#quiet {{ color: {scheme.quiet}; font-size: {round(0.85 * em)}px; }}
QLabel#fault {{ font-size: {round(0.85 * em)}px; font-weight: bold; }}
QLineEdit, QComboBox, QPushButton {{
    background: {scheme.panel}; border: {line}px solid {scheme.quiet}; padding: {pad}px;
    selection-background-color: {scheme.quiet}; selection-color: {scheme.ground};
}}
QLineEdit:focus, QComboBox:focus, QPushButton:focus, QCheckBox:focus {{
    border: {edge}px solid {scheme.ink};
}}
QCheckBox {{ border: {edge}px solid transparent; padding: {pad // 2}px; }}
QCheckBox::indicator {{
    width: {em}px; height: {em}px; background: {scheme.panel};
    border: {line}px solid {scheme.quiet};
}}
QCheckBox::indicator:checked {{ background: {scheme.ink}; }}
QLineEdit[fault="true"], QComboBox[fault="true"], QCheckBox[fault="true"] {{
    border: {edge}px dashed {scheme.ink};
}}
QComboBox QAbstractItemView {{
    background: {scheme.panel}; selection-background-color: {scheme.quiet};
    selection-color: {scheme.ground};
}}
"""

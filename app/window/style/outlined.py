"""The style of all widgets: Qt's own, with lines that can be seen round what can be used, on a dark ground too."""

from __future__ import annotations

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QPainter, QPalette, QPen
from PySide6.QtWidgets import (
    QProxyStyle,
    QPushButton,
    QStyle,
    QStyleHintReturn,
    QStyleOption,
    QStyleOptionButton,
    QStyleOptionComplex,
    QWidget,
)

_Primitive, _Complex, _Part = QStyle.PrimitiveElement, QStyle.ComplexControl, QStyle.SubControl
# How round the corners of what gets a line are, in pixels.
_CORNERS = {
    _Primitive.PE_Frame: 0.0,
    _Primitive.PE_FrameGroupBox: 2.0,
    _Primitive.PE_FrameMenu: 0.0,
    _Primitive.PE_FrameLineEdit: 2.0,
    _Primitive.PE_PanelButtonCommand: 2.0,
    _Primitive.PE_IndicatorCheckBox: 1.0,
}
_PARTS = {_Complex.CC_Slider: _Part.SC_SliderHandle, _Complex.CC_ScrollBar: _Part.SC_ScrollBarSlider}
_FOCUS, _FINE, _TAB = 2.0, 1.0, 3.0  # widths of lines, in pixels


class OutlinedStyle(QProxyStyle):
    """Draws lines in the palette's ``Mid``, twice as wide in its ``Highlight`` round what has the keyboard."""

    def __init__(self) -> None:
        super().__init__("Fusion")

    def drawPrimitive(
        self,
        element: QStyle.PrimitiveElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        """The element, with a line round it where it can be used; a button that is on is filled."""
        super().drawPrimitive(element, option, painter, widget)
        if element == _Primitive.PE_PanelButtonCommand and _is_on(option, widget):
            _fill(painter, option, _CORNERS[element])
        elif element in _CORNERS:
            _paint_line(painter, option, option.rect, _CORNERS[element])
        elif element == _Primitive.PE_IndicatorRadioButton:
            _paint_line(painter, option, option.rect, option.rect.height() / 2)
        elif element == _Primitive.PE_FrameFocusRect:
            on = _is_on(option, widget)
            painter.setPen(QPen(option.palette.highlightedText() if on else option.palette.highlight(), _FOCUS))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(option.rect).adjusted(1, 1, -1, -1))

    def drawControl(
        self,
        element: QStyle.ControlElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        """The element; the tab in front has a bar over it, and what stands on a filled button has the ink for that."""
        is_label = element == QStyle.ControlElement.CE_PushButtonLabel
        if is_label and isinstance(option, QStyleOptionButton) and _is_on(option, widget):
            option = QStyleOptionButton(option)
            option.palette.setBrush(QPalette.ColorRole.ButtonText, option.palette.highlightedText())
        super().drawControl(element, option, painter, widget)
        if element == QStyle.ControlElement.CE_TabBarTabShape and option.state & QStyle.StateFlag.State_Selected:
            bar = QRectF(option.rect)
            bar.setHeight(_TAB)
            painter.fillRect(bar, option.palette.highlight())

    def drawComplexControl(
        self,
        control: QStyle.ComplexControl,
        option: QStyleOptionComplex,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        """The control, with a line round it, or round the part of it that is moved."""
        super().drawComplexControl(control, option, painter, widget)
        if control == _Complex.CC_SpinBox:
            _paint_line(painter, option, option.rect, 2.0)
        elif control in _PARTS and widget is not None and option.state & QStyle.StateFlag.State_Enabled:
            _paint_line(painter, option, self.subControlRect(control, option, _PARTS[control], widget), 2.0)

    def styleHint(
        self,
        hint: QStyle.StyleHint,
        option: QStyleOption | None = None,
        widget: QWidget | None = None,
        returned: QStyleHintReturn | None = None,
    ) -> int:
        """As usual, but no pictures on the buttons of dialogs: other buttons have none."""
        if hint == QStyle.StyleHint.SH_DialogButtonBox_ButtonsHaveIcons:
            return 0
        return super().styleHint(hint, option, widget, returned)


def _is_on(option: QStyleOption, widget: QWidget | None) -> bool:
    """Whether it is a push-button that stays pressed, and can be used."""
    on = QStyle.StateFlag.State_On | QStyle.StateFlag.State_Enabled
    return isinstance(widget, QPushButton) and option.state & on == on


def _fill(painter: QPainter, option: QStyleOption, corner: float) -> None:
    """Fill the whole of it with what chosen things lie on."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(option.palette.highlight())
    painter.drawRoundedRect(option.rect, corner, corner)
    painter.restore()


def _paint_line(painter: QPainter, option: QStyleOption, area: QRect, corner: float) -> None:
    """A line just within ``area``; what cannot be used keeps the one it has."""
    usable = option.state & QStyle.StateFlag.State_Enabled
    if area.isEmpty() or not usable:
        return
    focused = bool(option.state & QStyle.StateFlag.State_HasFocus)
    wide = _FOCUS if focused else _FINE
    role = QPalette.ColorRole.Highlight if focused else QPalette.ColorRole.Mid
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(option.palette.color(role), wide))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(QRectF(area).adjusted(wide / 2, wide / 2, -wide / 2, -wide / 2), corner, corner)
    painter.restore()

"""The scripted body: answers from a table or a list, for tests and for playing a case through the questionnaire.

It sees the very menus and fields that a caster sees, and refuses a line that they would refuse, so what it plays a
person can play.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diagnose.interview.dialogue import Field, Menu, Reply, parse_fill, parse_pick


class ScriptedAsker:
    """Answers by *lines*, in order; when they are used up, by name from *answers*; else with Enter alone.

    *answers*: name of a menu or field -> the value of a row (or several), or the text of a field. *strict*: when the
    lines are used up the keyboard is gone (EOFError). *told* and *asked* record what was said and asked.
    """

    def __init__(
        self,
        lines: Iterable[str] = (),
        answers: Mapping[str, str | tuple[str, ...]] | None = None,
        strict: bool = False,
    ) -> None:
        self.lines = list(lines)
        self.answers = dict(answers or {})
        self.strict = strict
        self.told: list[str] = []
        self.asked: list[Menu | Field] = []
        self.width = 80

    def tell(self, text: str, quiet: bool = False, whole: bool = False) -> None:
        """Record *text*."""
        self.told.append(text)

    def choose(self, menu: Menu) -> Reply:
        """Reply with the next line, or with the value that the table has for *menu*."""
        self.asked.append(menu)
        if self.lines or self.strict:
            reply = parse_pick(menu, self._next())
            if isinstance(reply, str):
                raise ValueError(f"{menu.name}: {reply}")
            return reply
        value = self.answers.get(menu.name)
        if value is None:
            return Reply(menu.picked or (menu.at or menu.first.value,))
        values = (value,) if isinstance(value, str) else value
        wrong = [one for one in values if one not in {row.value for row in menu.rows}]
        if wrong:
            command = next((row.value for row in menu.commands if row.value == wrong[0]), None)
            if command is None:
                raise ValueError(f"{menu.name}: '{wrong[0]}' is not on the list")
            return Reply(menu.picked, command=command)
        return Reply(values)

    def fill(self, field: Field) -> Reply:
        """Reply with the next line, or with the text that the table has for *field*."""
        self.asked.append(field)
        if self.lines or self.strict:
            return parse_fill(field, self._next())
        value = self.answers.get(field.name, "")
        return parse_fill(field, value if isinstance(value, str) else ", ".join(value))

    def stop(self, leaving: BaseException) -> bool:
        """Nothing to put back."""
        return False

    def _next(self) -> str:
        if not self.lines:
            raise EOFError
        return self.lines.pop(0)

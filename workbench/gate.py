"""The gate for everything from outside: files of other people are read here, and nowhere else.

A notebook, a record, a roster, a picture, a mesh, a table or a shelf may come from a stranger.
Only regular files are opened, only as much is read as such a file may hold, and what is in them
is refused in a sentence before it reaches a screen, a file or the kernel. Nothing is run.
"""

from __future__ import annotations

import ast
import errno
import inspect
import json
import math
import os
import re
import stat
import traceback
import unicodedata
import warnings
import zipfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import chdir, contextmanager
from functools import wraps
from io import BytesIO
from pathlib import Path, PureWindowsPath
from types import BuiltinFunctionType, FunctionType, MethodType
from typing import IO, Any, TypeVar
from xml.etree import ElementTree

from workbench.errors import RepairError
from workbench.words import _, with_unit

K = TypeVar("K")
A = TypeVar("A", bound=Callable[..., Any])

#: Signs of a path at most, as systems have it.
PATH = 4096

#: Bytes that are read at most: of a notebook or a record, a picture or a mesh, and a small text.
NOTEBOOK, PICTURE, TEXT = 20_000_000, 200_000_000, 2_000_000

#: Signs of a number, of a name, and of a note at most.
NUMBER, NAME, NOTE = 40, 200, 10_000

#: How deep lists and objects may lie in one another; a repair needs ten.
DEPTH = 60

#: Elements of an XML text at most: a mesh of two million triangles has three million.
ROWS = 3_000_000

#: Forms of pictures; others would have the image library start programs, such as for PostScript.
PICTURES = ("JPEG", "PNG", "TIFF", "BMP", "WEBP", "GIF")

#: Signs that hide, turn round or break a line: no name has one.
_HIDING = re.compile(
    "[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff\ud800-\udfff]"
)
_LONE = re.compile("[\ud800-\udfff]")


@contextmanager
def opened(path: str | Path, most: int = NOTEBOOK) -> Iterator[IO[bytes]]:
    """A regular file of at most ``most`` bytes, to be read; never a device, a pipe or a folder.

    Raises
    ------
    RepairError
        When it is none, or is larger.
    OSError
        When it is not there or may not be read.
    """
    named = shown(str(path))
    try:
        # A pipe without a writer would wait for ever when it is opened in the usual way.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | _BINARY)
    except ValueError:  # a name with a sign that no file system takes
        raise RepairError(
            _("{path} is not a file name; type it again").format(path=named)
        ) from None
    with os.fdopen(handle, "rb") as file:
        state = os.fstat(file.fileno())
        if stat.S_ISDIR(state.st_mode):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
        if not stat.S_ISREG(state.st_mode):
            raise RepairError(
                _("{path} is a device or a pipe; give a plain file").format(path=named)
            )
        if state.st_size > most:
            raise RepairError(
                _("{path} has {size} MB; give a file of at most {most} MB").format(
                    path=named, size=round(state.st_size / 1e6, 1), most=round(most / 1e6)
                )
            )
        yield file


_BINARY = getattr(os, "O_BINARY", 0)


def content(path: str | Path, most: int = NOTEBOOK) -> bytes:
    """The bytes of a regular file; as for :func:`opened`."""
    with opened(path, most) as file:
        found = file.read(most + 1)
    if len(found) > most:  # it grew meanwhile
        raise RepairError(
            _("{path} is still being written; wait until it is finished").format(path=path)
        )
    return found


def unreadable(path: str | Path, error: OSError) -> RepairError:
    """The sentence for a file that cannot be read."""
    return RepairError(
        _("{path} cannot be read: {reason}; check the path").format(
            path=shown(str(Path(path))), reason=_(error.strerror or str(error))
        )
    )


def text(path: str | Path, most: int = TEXT) -> str:
    """The text of a regular file in UTF-8; UnicodeDecodeError where it is none."""
    return content(path, most).decode("utf-8-sig")


def json_in(written: str | bytes, what: str) -> Any:
    """What a JSON text holds, without lone surrogates, endless numbers or endless nesting.

    what : its name in a sentence, such as the file's

    Raises RepairError when it holds what no file of ours does; JSONDecodeError or
    UnicodeDecodeError where it is no JSON at all.
    """
    written = written.decode("utf-8-sig") if isinstance(written, bytes) else written
    try:
        found = json.loads(written, parse_int=_whole, parse_float=_float)
    except RecursionError:
        raise _nested(what) from None
    except _EndlessNumber as error:
        raise _endless_number(what, str(error)) from None
    _refuse_odd(found, what)
    return found


def json_file(path: str | Path, most: int = NOTEBOOK) -> Any:
    """What a JSON file holds; as for :func:`opened` and :func:`json_in`."""
    return json_in(content(path, most), Path(path).name)


def notebook(path: str | Path) -> dict[str, Any]:
    """A notebook's file as plain data: format 4, whose cells are those that its reader shows.

    Raises RepairError when it is no notebook of format 4, or as for :func:`json_file`.
    """
    row, name = json_file(path), Path(path).name
    known = isinstance(row, dict)
    found = row.get("nbformat", "?") if known else 4
    if isinstance(found, bool) or found != 4:
        raise RepairError(
            _(
                "{file} is a notebook of format {found}; open it in JupyterLab and save it, which "
                "makes it format 4, and look at it again"
            ).format(file=name, found=found)
        )
    if not known or not isinstance(row.get("cells", []), list):
        raise RepairError(
            _("{file} is not a notebook; choose a file that ends in .ipynb").format(file=name)
        )
    return row


def statements(code: str) -> list[ast.stmt]:
    """The statements of a piece of code, none of which is run; SyntaxError where it has no form."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # such as an odd escape in a text
            return ast.parse(code).body
    except (MemoryError, RecursionError):
        raise SyntaxError(_("it is nested too deeply")) from None


def inside(folder: Path, name: Any, remedy: str = "") -> Path:
    """The file of that name in or below a folder.

    Raises RepairError where the name, or a link of that name, leads out of it; ``remedy`` says what
    to do then.
    """
    remedy = remedy or _("use another revision")
    plain = isinstance(name, str) and name and not _HIDING.search(name)
    parts = PureWindowsPath(name) if plain else None
    if parts is None or parts.anchor or ".." in parts.parts:
        raise RepairError(
            _("{name!r} leads out of {folder}; {remedy}").format(
                name=short(name), folder=folder, remedy=remedy
            )
        )
    path = folder / name
    if not path.resolve().is_relative_to(folder.resolve()):
        raise RepairError(
            _("{name!r} is a link that leads out of {folder}; {remedy}").format(
                name=name, folder=folder, remedy=remedy
            )
        )
    return path


def name(field: str, given: Any, most: int = NAME) -> str:
    """The name itself, or RepairError where it is empty, too long or would hide or break a line."""
    if isinstance(given, str) and not given.strip():
        raise RepairError(_("{field} is empty; give a word or two").format(field=field))
    if not isinstance(given, str):
        raise RepairError(
            _("{field} is {given!r}; give a word or two").format(field=field, given=short(given))
        )
    if len(given) > most:
        raise RepairError(
            _("{field} has {count} characters; give at most {most}").format(
                field=field, count=len(given), most=most
            )
        )
    if _HIDING.search(given):
        raise RepairError(
            _("{field} is {given!r}; leave out line breaks and invisible characters").format(
                field=field, given=short(given)
            )
        )
    return given


def note(field: str, given: Any, most: int = NOTE) -> str:
    """A text of several lines, or RepairError where it is none or holds signs that do not show."""
    if not isinstance(given, str) or len(given) > most or _HIDING.search(_one_line(given)):
        raise RepairError(
            _("{field} is {given!r}; give plain text of at most {most} characters").format(
                field=field, given=short(given), most=most
            )
        )
    return given


def fitted(given: str) -> str:
    """The text made fit to be a name: what would hide or break a line becomes a space.

    >>> fitted("Mia\\n\\tLena"), fitted("a\\x1b[2Kb")
    ('Mia Lena', 'a [2Kb')
    """
    return " ".join(_HIDING.sub(" ", given).split())


def shown(given: str) -> str:
    """The text fit for a terminal: signs that move its cursor or hide a line become "?".

    >>> shown("a\\x1b[2Kb\\n")
    'a?[2Kb\\n'
    """
    return "".join(
        sign if sign in "\n\t" or not _HIDING.match(sign) else "?"
        for sign in unicodedata.normalize("NFC", given)
    )


def short(given: Any, most: int = 60) -> Any:
    """What to show of a value in a sentence: itself, or its beginning, or what kind of thing it is.

    >>> short("x" * 99, 3), short([1, 2]), short([1] * 99), short(10**5000)
    ('xxx...', [1, 2], a list, 100000000...)
    """
    if isinstance(given, str):
        plain = str.__str__(given)
        return plain if len(plain) <= most else plain[:most] + "..."
    endless = next(_endless(given), None) if isinstance(given, int) else None
    if endless is not None:
        return _Told(f"{endless}...")
    try:
        told = str(given)
    except Exception:  # of a number without end in a list, or by code of its own
        return kind(given)
    if len(told) > most or " at 0x" in told or told.startswith("<"):
        return kind(given)
    return given if type(given).__module__ == "builtins" else _Told(told)


class _Told(str):
    """What stands in a sentence without quotes."""

    __repr__ = str.__str__


def kind(given: Any) -> str:
    """What kind of thing a value is, in a word or two."""
    known = (
        ((list, tuple, set, frozenset, range), _("a list")),
        ((dict,), _("a table")),
        ((bytes, bytearray, memoryview), _("a file's content")),
        ((FunctionType, BuiltinFunctionType, MethodType, type), _("a function")),
    )
    words = (words for kinds, words in known if isinstance(given, kinds))
    return _Told(next(words, type(given).__name__))


def needed(given: Any, kind: type[K] | tuple[type[K], ...], field: str, such_as: str) -> K:
    """The value itself, or RepairError where it is of another kind; ``such_as`` is one that is."""
    if isinstance(given, kind):
        return given
    raise RepairError(
        _("{field} is {given}; give one such as {such_as}").format(
            field=field, given=repr(short(given)), such_as=such_as
        )
    )


def choice(field: str, given: Any, known: Iterable[str], told: Callable[[str], str] = str) -> str:
    """The word itself, or RepairError where it is none of those; ``told`` is how each is shown."""
    listed = tuple(known)
    if isinstance(given, str) and given in listed:
        return given
    raise RepairError(
        _("{field} is {value!r}; give one of {known}").format(
            field=_(field), value=short(given), known=", ".join(map(told, listed))
        )
    )


class Misfit(RepairError, TypeError):
    """A call with too little, too much, or what is not known."""


def positive(field: str, given: Any, length: bool = True) -> float:
    """The number, in mm where it is a length, or RepairError where it is none above 0."""
    if isinstance(given, (int, float)) and math.isfinite(given) and given > 0:
        return float(given)
    if length:
        text = _("{field} is {value!r}; give more than {nothing}")
    else:
        text = _("{field} is {value!r}; give a number above 0")
    raise RepairError(text.format(field=field, value=short(given), nothing=with_unit(0)))


def asked(made: A) -> A:
    """A function, or a class with its public methods, that says in a sentence what it takes where
    it is called with too little, too much, or what it does not know."""
    if not isinstance(made, type):
        return _asked(made)
    for name, held in list(vars(made).items()):
        if name.startswith("_") and name != "__init__":
            continue
        if inspect.isfunction(held):
            setattr(made, name, _asked(held))
        elif isinstance(held, classmethod):
            setattr(made, name, classmethod(_rebuilding(_asked(held.__func__))))
    return made


def _asked(function: A) -> A:
    @wraps(function)
    def call(*given: Any, **named: Any) -> Any:
        try:
            return function(*given, **named)
        except RepairError:
            raise
        except Exception as error:
            said = _said_of_call(function, given, named, error)
            if said is None:
                raise
            raise said from None

    return call  # type: ignore[return-value]


def _said_of_call(
    function: Callable[..., Any], given: Sequence[Any], named: dict[str, Any], error: Exception
) -> RepairError | None:
    """The sentence for a call that is wrong, or None where the fault is not the caller's."""
    within = error.__traceback__.tb_next if error.__traceback__ is not None else None
    if isinstance(error, TypeError) and within is None:
        return _misfit(function, given, named)
    if isinstance(error, OverflowError):
        endless = next(_endless((given, [*named.values()])), None)
        if endless is not None:
            return _endless_number(function.__qualname__.removesuffix(".__init__"), endless)
    bound = inspect.signature(function).bind_partial(*given, **named).arguments
    for frame, _line in traceback.walk_tb(within):
        own = frame.f_locals.get((*frame.f_code.co_varnames, "")[0])
        for field, value in bound.items():
            if field not in _OWN and own is not None and any(one is own for one in _held(value)):
                return RepairError(
                    _(
                        "{field} is {given}, whose own code fails when it is read; give plain "
                        "numbers or text"
                    ).format(
                        field=bound.get("field", field) if field == "value" else field,
                        given=type(own).__name__,
                    )
                )
    return None


def _held(value: Any, depth: int = 3) -> Iterator[Any]:
    """A value that is not ours, and what is in it where it is a list or a table."""
    if isinstance(value, dict) and depth:
        value = [value, *dict.keys(value), *dict.values(value)]
    if type(value) in (list, tuple) and depth:
        for one in value:
            yield from _held(one, depth - 1)
    elif type(value).__module__.partition(".")[0] not in _HOUSES:
        yield value


#: Whose classes are not a caller's own.
_HOUSES = ("builtins", "workbench", "build123d", "numpy")


def _rebuilding(function: A) -> A:
    @wraps(function)
    def call(*given: Any, **named: Any) -> Any:
        with rebuilt(_("the record"), given[-1]):
            return function(*given, **named)

    return call  # type: ignore[return-value]


@contextmanager
def rebuilt(what: str, given: Any) -> Iterator[None]:
    """What plain data is taken apart in: RepairError where they lack a name or are of another form."""
    try:
        yield
    except RepairError:
        raise
    except KeyError as error:
        raise lacking(error.args[0]) from None
    except (TypeError, ValueError, AttributeError, RecursionError):
        raise damaged(what, given) from None


def lacking(name: Any) -> RepairError:
    """The sentence for a record without something that it is to have."""
    return RepairError(
        _("record is not a repair: it lacks {what}; use an earlier revision").format(
            what=repr(name)
        )
    )


def damaged(field_name: str, given: Any) -> RepairError:
    """The sentence for a record in which something is of another form."""
    return RepairError(
        _("record is not a repair: {field} is {given!r}; use an earlier revision").format(
            field=field_name, given=short(given)
        )
    )


def _endless(given: Any) -> Iterator[str]:
    """The first digits of each whole number in there that no float holds."""
    if isinstance(given, int) and given.bit_length() > 1024:
        yield str(given // 10 ** (given.bit_length() * 3 // 10 - 8))[:9]
    elif isinstance(given, (list, tuple)):
        for one in given:
            yield from _endless(one)
    elif isinstance(given, dict):
        yield from _endless([*given.values()])


def _endless_number(where: str, digits: str) -> RepairError:
    return RepairError(
        _("{file}: no part can have the number {number}...; put it right").format(
            file=where, number=digits
        )
    )


def _misfit(function: Callable[..., Any], given: Sequence[Any], named: Iterable[str]) -> Misfit:
    """What a call lacks, or has too much."""
    parameters = inspect.signature(function).parameters.values()
    taken = [one for one in parameters if one.name not in _OWN]
    own = len(parameters) - len(taken)
    known = [one.name for one in taken]
    ordered = [one.name for one in taken if one.kind is one.POSITIONAL_OR_KEYWORD]
    odd = [name for name in named if name not in known]
    missing = [
        one.name
        for one in taken[max(0, len(given) - own) :]
        if one.default is one.empty and one.name not in named and one.kind is not one.VAR_KEYWORD
    ]
    if odd:
        text = _("{call} takes no {odd}; give {known}")
    elif missing and len(given) - own <= len(ordered):
        text = _("{call} asks for {missing}; give {known}")
    else:
        text = _("{call} takes each value once; give {known}")
    return Misfit(
        text.format(
            call=function.__qualname__.removesuffix(".__init__"),
            odd=" ".join(odd[:1]),
            missing=", ".join(missing),
            known=", ".join(known) or _("none"),
        )
    )


#: What Python itself hands to a method.
_OWN = ("self", "cls")


def listed(names: Iterable[str], most: int = 12) -> str:
    """Names for a sentence: the first few, and how many more there are.

    >>> listed("abcde", 3)
    'a, b, c and 2 more'
    """
    every = list(names)
    told = ", ".join(str(short(one)) for one in every[:most])
    more = len(every) - most
    return told if more <= 0 else _("{names} and {count} more").format(names=told, count=more)


def unknown(text: str, name: Any, known: Iterable[str]) -> RepairError:
    """That nothing has the name which ``text`` tells, with those there are."""
    names = listed(known) or _("none yet")
    return RepairError(text.format(name=short(name), known=names))


def plain_plots() -> None:
    """Keep matplotlib from the settings that lie in the current folder, whoever put them there.

    It looks for them once, when it is imported, and before it looks anywhere else.
    """
    if os.path.lexists("matplotlibrc"):
        with chdir(Path(__file__).parent):
            import matplotlib  # noqa: F401


def picture(raw: bytes) -> Any:
    """An image of Pillow's, not yet decoded, of one of the forms in :data:`PICTURES`."""
    from PIL import Image

    return Image.open(BytesIO(raw), formats=PICTURES)


#: Flags of a file in a zip package whose content asks for a password.
_LOCKED = 0x41


def zipped(raw: bytes) -> zipfile.ZipFile:
    """A zip package whose files come to at most :data:`PICTURE` bytes; BadZipFile where it is none."""
    package = zipfile.ZipFile(BytesIO(raw))
    if any(entry.flag_bits & _LOCKED for entry in package.infolist()):
        raise zipfile.BadZipFile("it asks for a password")
    size = sum(entry.file_size for entry in package.infolist())
    if size > PICTURE:
        raise RepairError(
            _("the package unpacks to {size} MB; give one of at most {most} MB").format(
                size=round(size / 1e6), most=round(PICTURE / 1e6)
            )
        )
    return package


def xml(raw: bytes) -> ElementTree.Element:
    """The root of an XML text, or ParseError; ValueError where :data:`ROWS` elements, each opened
    and closed, have fewer tags."""
    if raw.count(b"<") > 2 * ROWS:
        raise ValueError("too many elements")
    return ElementTree.fromstring(raw)


class _EndlessNumber(Exception):
    pass


def _whole(digits: str) -> int:
    return int(_at_most(digits))


def _float(digits: str) -> float:
    found = float(_at_most(digits))
    if not abs(found) < float("inf"):
        raise _EndlessNumber(digits[:NUMBER])
    return found


def _at_most(digits: str) -> str:
    if len(digits) > NUMBER:
        raise _EndlessNumber(digits[:NUMBER])
    return digits


def _one_line(given: str) -> str:
    return given.replace("\r\n", " ").replace("\n", " ").replace("\t", " ")


def _nested(what: str) -> RepairError:
    return RepairError(_("{file} is nested too deeply; use an earlier copy").format(file=what))


def _refuse_odd(found: Any, what: str) -> None:
    """Walk through lists and objects without recursion, one iterator for each level."""
    levels = [iter((found,))]
    while levels:
        for each in levels[-1]:
            if isinstance(each, str):
                if _LONE.search(each):
                    raise RepairError(
                        _("{file} holds {text!r}, which is not text; use an earlier copy").format(
                            file=what, text=short(each)
                        )
                    )
            elif isinstance(each, (dict, list)) and each:
                levels.append(_within(each))
                if len(levels) > DEPTH + 1:
                    raise _nested(what)
                break
        else:
            levels.pop()


def _within(each: dict[str, Any] | list[Any]) -> Iterator[Any]:
    if isinstance(each, dict):
        yield from each
        yield from each.values()
    else:
        yield from each

"""Small wrong changes of a module, made in its syntax tree: what a mutation study asks the tests to notice.

Left alone by construction: docstrings, words of messages (every string), what stands in an f-string, annotations,
decorators, imports, what only a type checker reads, and the first lines of a class that name its slots.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass

_COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
_WORKED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
}
_NAMES = {
    "min": "max", "max": "min", "any": "all", "all": "any", "minimum": "maximum", "maximum": "minimum",
    "floor": "ceil", "ceil": "floor", "sorted": "list", "sin": "cos", "cos": "sin", "log": "log1p", "exp": "expm1",
    "sum": "max", "mean": "max", "logcdf": "logsf", "logsf": "logcdf", "cdf": "sf", "sf": "cdf", "abs": "float",
    "zeros": "ones", "ones": "zeros",
}  # fmt: skip
_TYPE_ONLY = {"cast", "TypeVar", "overload", "TypeAlias"}


@dataclass(frozen=True)
class Mutation:
    """One wrong change: where, of which kind, what stood there and what stands there then."""

    line: int
    operator: str
    before: str
    after: str
    change: Callable[[], None]
    lines: tuple[int, ...]
    """Lines whose being run makes the change take effect; empty where it takes effect at import."""

    names: tuple[str, ...]
    """Names that carry a change made at import to where it takes effect."""


@dataclass(frozen=True)
class _Place:
    lines: tuple[int, ...] = ()
    names: tuple[str, ...] = ()


def mutations_of(tree: ast.Module) -> list[Mutation]:
    """Every change of the tree, always in the same order; calling ``change`` makes it, in place."""
    return list(_in_body(tree.body, _Place()))


def _in_body(body: list[ast.stmt], place: _Place) -> Iterator[Mutation]:
    for position, statement in enumerate(body):
        inside = isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
        if _is_words(statement) or _for_types_alone(statement) or isinstance(statement, ast.Import | ast.ImportFrom):
            continue
        if inside:
            yield from _in_definition(statement, place)
            continue
        here = _place_of(statement, place)
        yield from _of_statement(body, position, here)
        for field, value in ast.iter_fields(statement):
            if field == "annotation":
                continue
            if isinstance(value, list) and value and isinstance(value[0], ast.stmt):
                yield from _in_body(value, place)
            else:
                yield from _in_parts(statement, field, value, here)


def _in_definition(node: ast.stmt, place: _Place) -> Iterator[Mutation]:
    if isinstance(node, ast.ClassDef):
        yield from _in_body(node.body, _Place(names=(*place.names, node.name)))
        return
    assert isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    first = node.body[1] if _is_words(node.body[0]) and len(node.body) > 1 else node.body[0]
    within = _Place(lines=(first.lineno,))
    for field in ("defaults", "kw_defaults"):
        yield from _in_parts(node.args, field, getattr(node.args, field), within)
    yield from _in_body(node.body, _Place(lines=(-1,)))


def _place_of(statement: ast.stmt, place: _Place) -> _Place:
    if place.lines:  # within a function: the statement's own lines
        head = statement.body[0].lineno - 1 if isinstance(getattr(statement, "body", None), list) else None
        last = head if head and head >= statement.lineno else statement.end_lineno or statement.lineno
        return _Place(lines=tuple(range(statement.lineno, last + 1)))
    targets = statement.targets if isinstance(statement, ast.Assign) else [getattr(statement, "target", None)]
    named = tuple(node.id for target in targets if target for node in ast.walk(target) if isinstance(node, ast.Name))
    return _Place(names=(*place.names, *named))


def _of_statement(body: list[ast.stmt], position: int, place: _Place) -> Iterator[Mutation]:
    statement = body[position]

    def instead(other: ast.stmt) -> Callable[[], None]:
        return lambda: body.__setitem__(position, ast.fix_missing_locations(ast.copy_location(other, statement)))

    match statement:
        case ast.Return(value=value) if value is not None and not _is_none(value):
            yield _mutation("return nothing", statement, ast.Return(ast.Constant(None)), instead, place)
        case ast.Expr(value=ast.Call()) | ast.AugAssign() | ast.Raise():
            yield _mutation("leave out", statement, ast.Pass(), instead, place)
        case ast.Break():
            yield _mutation("go on", statement, ast.Continue(), instead, place)
        case ast.Continue():
            yield _mutation("stop", statement, ast.Break(), instead, place)
        case ast.If(test=ast.Name() | ast.Attribute() | ast.Call() as asked):
            yield _mutation("condition", asked, ast.UnaryOp(ast.Not(), asked), _asked_of(statement), place)
    if isinstance(statement, ast.AugAssign) and type(statement.op) in _WORKED:
        other = copy.copy(statement)
        other.op = _WORKED[type(statement.op)]()
        yield _mutation("arithmetic", statement, other, instead, place)


def _asked_of(statement: ast.If) -> Callable[[ast.expr], Callable[[], None]]:
    def instead(other: ast.expr) -> Callable[[], None]:
        return lambda: setattr(statement, "test", ast.fix_missing_locations(ast.copy_location(other, statement.test)))

    return instead


def _in_parts(parent: ast.AST, field: str, value: object, place: _Place) -> Iterator[Mutation]:
    if isinstance(value, list):
        for position, part in enumerate(value):
            yield from _in_part(part, lambda new, at=position: value.__setitem__(at, new), place)
    elif isinstance(value, ast.AST):
        yield from _in_part(value, lambda new: setattr(parent, field, new), place)


def _in_part(node: object, put: Callable[[ast.AST], None], place: _Place) -> Iterator[Mutation]:
    if not isinstance(node, ast.AST) or isinstance(node, ast.JoinedStr | ast.expr_context | ast.operator | ast.cmpop):
        return
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _TYPE_ONLY:
        return
    for operator, other in _others(node):

        def instead(new: ast.AST) -> Callable[[], None]:
            return lambda: put(ast.fix_missing_locations(ast.copy_location(new, node)))

        yield _mutation(operator, node, other, instead, place)
    for field, value in ast.iter_fields(node):
        yield from _in_parts(node, field, value, place)


def _others(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    match node:
        case ast.Compare():
            for at, operation in enumerate(node.ops):
                for other in _COMPARED[type(operation)]:
                    yield "comparison", _with(node, ops=[*node.ops[:at], other(), *node.ops[at + 1 :]])
        case ast.BinOp() if type(node.op) in _WORKED and not _is_text(node.left) and not _is_text(node.right):
            yield "arithmetic", _with(node, op=_WORKED[type(node.op)]())
        case ast.BoolOp():
            yield "and, or", _with(node, op=ast.Or() if isinstance(node.op, ast.And) else ast.And())
        case ast.UnaryOp() if isinstance(node.op, ast.Not | ast.USub):
            yield "leave out not, minus", node.operand
        case ast.IfExp():
            yield "other branch", _with(node, body=node.orelse, orelse=node.body)
        case ast.Constant(value=bool(value)):
            yield "truth", ast.Constant(not value)
        case ast.Constant(value=int(value) | float(value)):
            yield "number", ast.Constant(value + 1)
        case ast.Call(func=ast.Name(id=name)) if name in _NAMES:
            yield "function", _with(node, func=ast.Name(_NAMES[name], ast.Load()))
        case ast.Call(func=ast.Attribute(attr=name)) if name in _NAMES:
            assert isinstance(node.func, ast.Attribute)
            yield "function", _with(node, func=_with(node.func, attr=_NAMES[name]))
        case ast.comprehension() if node.ifs:
            yield "condition", _with(node, ifs=[ast.UnaryOp(ast.Not(), node.ifs[0]), *node.ifs[1:]])


def _with(node: ast.AST, **changed: object) -> ast.AST:
    other = copy.copy(node)
    for field, value in changed.items():
        setattr(other, field, value)
    return other


def _mutation(
    operator: str, node: ast.AST, other: ast.AST, instead: Callable[..., Callable[[], None]], place: _Place
) -> Mutation:
    shown = ast.unparse(ast.fix_missing_locations(copy.deepcopy(other)))
    line = getattr(node, "lineno", 0) or getattr(getattr(node, "target", None), "lineno", 0)
    lines = tuple(number for number in place.lines if number > 0)
    return Mutation(line, operator, ast.unparse(node)[:120], shown[:120], instead(other), lines, place.names)


def _is_words(statement: ast.stmt) -> bool:
    return isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)


def _is_none(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _for_types_alone(statement: ast.stmt) -> bool:
    if isinstance(statement, ast.If):
        return isinstance(statement.test, ast.Name) and statement.test.id == "TYPE_CHECKING"
    if isinstance(statement, ast.Assign):
        return any(
            isinstance(target, ast.Name) and target.id in {"__all__", "__slots__"} for target in statement.targets
        )
    return False

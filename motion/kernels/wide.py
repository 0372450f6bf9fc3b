"""Many float32 numbers at once, as one value that kernels add, multiply, compare and look up with.

Numba compiles loops over scalars, and a table lookup keeps LLVM from turning such a loop into vector
instructions. Here the vector is a type of its own: ``Wide`` (LANES x float32), ``WideInt`` (int32) and
``WideBool`` (bits) become LLVM vectors, each function below becomes one LLVM operation, and LLVM cuts them up
to fit the processor's registers. LANES is several registers on purpose: their operations stand next to each
other and depend on nothing of one another, so a processor works at one while another waits for its last step.

Only `look` asks what the processor is: where registers can be permuted by index (of sixteen with AVX-512, of
eight with AVX2) a table is read from registers, elsewhere entry by entry. Operators take two ``Wide``.

Comparisons with NaN are false, so ``least(a, b)`` and ``most(a, b)`` give b where a is NaN.
"""

from __future__ import annotations

import operator
from collections.abc import Callable
from typing import Any

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic, models, overload, register_model

LANES = 32
ROW = 16  # numbers of a table that one ``WideRow`` holds
NARROW, TABLE = 32, 48  # entries that `look` and `look_far` tell apart

_BIT, _INT, _FLOAT = ir.IntType(1), ir.IntType(32), ir.FloatType()
_VECTOR = ir.VectorType(_FLOAT, LANES)
_INTS = ir.VectorType(_INT, LANES)
_BITS = ir.VectorType(_BIT, LANES)
_ROW, _EIGHT = ir.VectorType(_FLOAT, ROW), ir.VectorType(_FLOAT, 8)


class WideType(types.Type):
    """Numba's type of LANES float32."""

    def __init__(self) -> None:
        super().__init__(name=f"float32x{LANES}")


class WideIntType(types.Type):
    """Numba's type of LANES int32."""

    def __init__(self) -> None:
        super().__init__(name=f"int32x{LANES}")


class WideBoolType(types.Type):
    """Numba's type of LANES booleans."""

    def __init__(self) -> None:
        super().__init__(name=f"bool1x{LANES}")


class WideRowType(types.Type):
    """Numba's type of a piece of a table: ROW float32."""

    def __init__(self) -> None:
        super().__init__(name=f"row{ROW}")


def _stored_as(vector: ir.VectorType) -> type:
    class Model(models.PrimitiveModel):
        def __init__(self, manager: Any, numba_type: Any) -> None:
            super().__init__(manager, numba_type, vector)  # type: ignore[no-untyped-call]

    return Model


register_model(WideType)(_stored_as(_VECTOR))
register_model(WideIntType)(_stored_as(_INTS))
register_model(WideBoolType)(_stored_as(_BITS))
register_model(WideRowType)(_stored_as(_ROW))

WIDE, WIDE_INT, WIDE_BOOL, WIDE_ROW = WideType(), WideIntType(), WideBoolType(), WideRowType()
Codegen = tuple[Any, Callable[..., Any]]
Wide = Any  # a ``WideType`` in the signatures of kernels


def _place(context: Any, builder: Any, array_type: Any, array: Any, index: Any) -> Any:
    data = context.make_array(array_type)(context, builder, array).data
    return builder.gep(data, [index])


def _call(builder: Any, name: str, kind: Any, args: list[Any]) -> Any:
    signature = ir.FunctionType(kind, [a.type for a in args])
    declare: Callable[..., Any] = cgutils.get_or_insert_function
    return builder.call(declare(builder.module, signature, name), args)


def _operation(function: Callable[..., Codegen]) -> Callable[..., Any]:
    made: Callable[..., Any] = intrinsic(function)
    return made


@_operation
def load(typing: Any, array: Any, index: Any) -> Codegen:
    """The LANES numbers that begin at array[index] (float32, one dimension)."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        place = _place(context, builder, signature.args[0], args[0], args[1])
        return builder.load(builder.bitcast(place, _VECTOR.as_pointer()), align=4)

    return WIDE(array, types.intp), generate


@_operation
def store(typing: Any, array: Any, index: Any, value: Any) -> Codegen:
    """Write LANES numbers to array[index] and on."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        place = _place(context, builder, signature.args[0], args[0], args[1])
        builder.store(args[2], builder.bitcast(place, _VECTOR.as_pointer()), align=4)
        return context.get_dummy_value()

    return types.void(array, types.intp, WIDE), generate


@_operation
def full(typing: Any, value: Any) -> Codegen:
    """The same number LANES times."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        one = builder.insert_element(ir.Constant(_VECTOR, ir.Undefined), args[0], ir.Constant(_INT, 0))
        zeros = ir.Constant(_INTS, [0] * LANES)
        return builder.shuffle_vector(one, ir.Constant(_VECTOR, ir.Undefined), zeros)

    return WIDE(types.float32), generate


@_operation
def plus(typing: Any, a: Any, b: Any) -> Codegen:
    """a + b."""
    return WIDE(WIDE, WIDE), lambda context, builder, signature, args: builder.fadd(*args)


@_operation
def minus(typing: Any, a: Any, b: Any) -> Codegen:
    """a - b."""
    return WIDE(WIDE, WIDE), lambda context, builder, signature, args: builder.fsub(*args)


@_operation
def times(typing: Any, a: Any, b: Any) -> Codegen:
    """a b."""
    return WIDE(WIDE, WIDE), lambda context, builder, signature, args: builder.fmul(*args)


@_operation
def over(typing: Any, a: Any, b: Any) -> Codegen:
    """a / b."""
    return WIDE(WIDE, WIDE), lambda context, builder, signature, args: builder.fdiv(*args)


def _both_wide(operation: Callable[..., Any]) -> Callable[..., Any]:
    def choose_operation(a, b):  # type: ignore[no-untyped-def]  # Numba wants bare names here
        if isinstance(a, WideType) and isinstance(b, WideType):
            return lambda a, b: operation(a, b)
        return None

    return choose_operation


overload(operator.add)(_both_wide(plus))
overload(operator.sub)(_both_wide(minus))
overload(operator.mul)(_both_wide(times))
overload(operator.truediv)(_both_wide(over))


@_operation
def fused(typing: Any, a: Any, b: Any, c: Any) -> Codegen:
    """a b + c, rounded once where the processor does so in one operation, else twice."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        triple = context.codegen().magic_tuple()[0]
        if triple.startswith("x86") and not _has(context, "fma"):
            return builder.fadd(builder.fmul(args[0], args[1]), args[2])
        return _call(builder, f"llvm.fma.v{LANES}f32", _VECTOR, list(args))

    return WIDE(WIDE, WIDE, WIDE), generate


@_operation
def root(typing: Any, a: Any) -> Codegen:
    """Square root."""
    return WIDE(WIDE), lambda context, builder, signature, args: _call(
        builder, f"llvm.sqrt.v{LANES}f32", _VECTOR, list(args)
    )


@_operation
def below(typing: Any, a: Any, b: Any) -> Codegen:
    """a < b, false where either is NaN."""
    return WIDE_BOOL(WIDE, WIDE), lambda context, builder, signature, args: builder.fcmp_ordered("<", *args)


@_operation
def both(typing: Any, a: Any, b: Any) -> Codegen:
    """a and b."""
    return WIDE_BOOL(WIDE_BOOL, WIDE_BOOL), lambda context, builder, signature, args: builder.and_(*args)


@_operation
def choose(typing: Any, which: Any, a: Any, b: Any) -> Codegen:
    """a where which holds, b elsewhere."""
    return WIDE(WIDE_BOOL, WIDE, WIDE), lambda context, builder, signature, args: builder.select(*args)


@_operation
def least(typing: Any, a: Any, b: Any) -> Codegen:
    """The lesser of a and b."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return builder.select(builder.fcmp_ordered("<", *args), *args)

    return WIDE(WIDE, WIDE), generate


@_operation
def most(typing: Any, a: Any, b: Any) -> Codegen:
    """The greater of a and b."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return builder.select(builder.fcmp_ordered(">", *args), *args)

    return WIDE(WIDE, WIDE), generate


@_operation
def whole(typing: Any, a: Any) -> Codegen:
    """a without its fraction."""
    return WIDE_INT(WIDE), lambda context, builder, signature, args: builder.fptosi(args[0], _INTS)


@_operation
def row(typing: Any, table: Any, start: Any) -> Codegen:
    """The ROW numbers table[start:start + ROW], for `look`."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        place = _place(context, builder, signature.args[0], args[0], args[1])
        return builder.load(builder.bitcast(place, _ROW.as_pointer()), align=4)

    return WIDE_ROW(table, types.intp), generate


@_operation
def look(typing: Any, table: Any, start: Any, first: Any, second: Any, index: Any) -> Codegen:
    """table[start + index] for LANES indices 0 to 31; any other index finds some number of the table.

    first and second are `row` of start and of start + ROW: a processor that permutes registers looks there,
    others in memory.
    """

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return _look(context, builder, signature, args, NARROW)

    return WIDE(table, types.intp, WIDE_ROW, WIDE_ROW, WIDE_INT), generate


@_operation
def look_far(typing: Any, table: Any, start: Any, first: Any, second: Any, third: Any, index: Any) -> Codegen:
    """As `look` for indices 0 to 47; third is `row` of start + 2 ROW."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return _look(context, builder, signature, args, TABLE)

    return WIDE(table, types.intp, WIDE_ROW, WIDE_ROW, WIDE_ROW, WIDE_INT), generate


def _look(context: Any, builder: Any, signature: Any, args: Any, entries: int) -> Any:
    *rows, index = args[2:]
    if _has(context, "avx512f"):
        pieces = [_permuted(builder, rows, at) for at in _cut(builder, index, LANES, ROW)]
    elif _has(context, "avx2"):
        eighths = [part for one in rows for part in _cut(builder, one, ROW, 8)]
        pieces = [_permuted_by_eight(builder, eighths, at) for at in _cut(builder, index, LANES, 8)]
    else:
        place = _place(context, builder, signature.args[0], *args[:2])
        return _one_by_one(builder, place, index, entries - 1)
    return _joined(builder, pieces)


def _has(context: Any, feature: str) -> bool:
    """Whether the processor that is compiled for has a feature, by its name in LLVM."""
    return f"+{feature}" in context.codegen().magic_tuple()[-1].split(",")


def _permuted(builder: Any, rows: list[Any], index: Any) -> Any:
    found = _call(builder, "llvm.x86.avx512.vpermi2var.ps.512", _ROW, [rows[0], index, rows[1]])
    if len(rows) == 2:
        return found
    high = _call(builder, "llvm.x86.avx512.permvar.sf.512", _ROW, [rows[2], index])
    beyond = ir.Constant(ir.VectorType(_INT, ROW), [2 * ROW] * ROW)
    return builder.select(builder.icmp_unsigned(">=", index, beyond), high, found)


def _permuted_by_eight(builder: Any, eighths: list[Any], index: Any) -> Any:
    """As `_permuted` with registers of eight: each part of the table is permuted, the right one chosen."""
    found = None
    for n, part in enumerate(eighths):
        entry = _call(builder, "llvm.x86.avx2.permps", _EIGHT, [part, index])
        here = builder.icmp_signed(">", index, ir.Constant(ir.VectorType(_INT, 8), [8 * n - 1] * 8))
        found = entry if found is None else builder.select(here, entry, found)
    return found


def _one_by_one(builder: Any, place: Any, index: Any, last: int) -> Any:
    found = ir.Constant(_VECTOR, ir.Undefined)
    most_allowed = ir.Constant(_INTS, [last] * LANES)
    index = builder.select(builder.icmp_unsigned("<", index, most_allowed), index, most_allowed)
    for lane in range(LANES):
        at = ir.Constant(_INT, lane)
        entry = builder.gep(place, [builder.zext(builder.extract_element(index, at), ir.IntType(64))])
        found = builder.insert_element(found, builder.load(entry), at)
    return found


def _cut(builder: Any, vector: Any, size: int, part: int) -> list[Any]:
    """A vector of `size` in pieces of `part`."""
    return [builder.shuffle_vector(vector, vector, _lanes(first, part)) for first in range(0, size, part)]


def _joined(builder: Any, pieces: list[Any]) -> Any:
    """Pieces of one size, a power of two of them, end to end."""
    while len(pieces) > 1:
        size = 2 * pieces[0].type.count
        pieces = [
            builder.shuffle_vector(a, b, _lanes(0, size))
            for a, b in zip(pieces[::2], pieces[1::2], strict=True)
        ]
    return pieces[0]


def _lanes(first: int, count: int) -> Any:
    return ir.Constant(ir.VectorType(_INT, count), list(range(first, first + count)))

"""The symbolic portal as it is printed: MathML of its formula and of derivatives."""

from __future__ import annotations

import sympy as sp
from sympy.printing.mathml import MathMLPresentationPrinter

from stiffcalc.mechanics.portal import Portal, symbol

Lines = tuple[tuple[str, str], ...]


def lines(of: Portal) -> Lines:
    """The spread by the elements of delta and kappa, then every element."""
    names = ("p", *(str(i + 1) for i in range(len(of.redundants))))
    n = len(names)
    found = [("spread of both halves per MPa", _equation(sp.Symbol("s"), _spread(names)))]
    found.append(("area of one side's bores", _equation(sp.Symbol("A"), of.area)))
    for i in range(n):
        for j in range(i, n):
            found.append(
                (_pair(i, j, of), _equation(_element("delta", names[i], names[j]), _tidy(of.delta[i, j])))
            )
    for i in range(n):
        found.append(
            ("pressure on the bores' walls", _equation(_element("kappa", names[i]), _tidy(of.kappa[i])))
        )
    return tuple(found)


def derivatives(of: Portal, by: tuple[str, ...]) -> Lines:
    """Elements of d delta / d symbol that are not zero: ds = (2 / A) (1, X') (d delta (1, X) + d kappa)."""
    names = ("p", *(str(i + 1) for i in range(len(of.redundants))))
    found = []
    for q in by:
        for i in range(len(names)):
            for j in range(i, len(names)):
                changed = sp.diff(of.delta[i, j], symbol(q))
                if changed != 0:
                    left = sp.Derivative(_element("delta", names[i], names[j]), symbol(q))
                    found.append((f"by {q}", _equation(left, _tidy(changed))))
    return tuple(found)


def _spread(names: tuple[str, ...]) -> sp.Expr:
    """In elements, for one redundant written out, for more with the inverse as a symbol."""
    first = _element("delta", "p", "p") + _element("kappa", "p")
    if len(names) == 1:
        inner = first
    elif len(names) == 2:
        whole = _element("delta", "p", "1") * (_element("delta", "p", "1") + _element("kappa", "1"))
        inner = first - whole / _element("delta", "1", "1")
    else:
        inner = first - sum(
            _element("delta", "p", i)
            * sp.Symbol(f"gamma_{i}{j}")
            * (_element("delta", "p", j) + _element("kappa", j))
            for i in names[1:]
            for j in names[1:]
        )
    return 2 / sp.Symbol("A") * inner


def _element(name: str, *of: str) -> sp.Symbol:
    return sp.Symbol(f"{name}_{''.join(of)}")


def _pair(i: int, j: int, of: Portal) -> str:
    words = ("pressure", *of.redundants)
    return f"{words[i]} with {words[j]}"


def _tidy(expression: sp.Expr) -> sp.Expr:
    """Grouped by flexibility, so that each term is one of the work integrals."""
    soft = [s for s in expression.free_symbols if str(s)[0] in "fghekcd" or str(s).startswith("phi")]
    return sp.collect(sp.expand(expression), soft, evaluate=True, func=sp.factor)


def _equation(left: sp.Expr, right: sp.Expr) -> str:
    printer = MathMLPresentationPrinter({"mul_symbol": "None"})
    body = "".join(printer.doprint(e) if k != 1 else "<mo>=</mo>" for k, e in enumerate((left, None, right)))
    return f'<math display="block"><mrow>{body}</mrow></math>'

"""What z3 says of claims and of versions: `python3 algebra.py problems.json > algebra.json`.

`ASLEFT_PROBLEMS=problems.json cargo test -p rules outside_solver` writes the problems, in the form
that README.md describes.

First the solver answers on its own. Of claims: whether they contradict each other, where what is left of each
variable ends, and whether each other claim follows. Of two versions of what is said of a setting: whether
something that complied may comply no longer, and whether something may comply that did not, at each site and
over all. It does the laying of the cases itself. Only then it looks at what the program shows to those who
ask: whether each contradiction shown is one and needs each of its claims, and whether each example shown keeps
what holds and breaks the claim. What is not so it names, and ends with 1.
"""

import json
import math
import sys
from fractions import Fraction

import z3

ENABLED = 2  # the position of "enabled" among the words of a state
MILLISECONDS = 20_000  # for one question; none has taken a hundredth of that
WITHOUT_END = 10**15


def real(number):
    return z3.RealVal(str(Fraction(number)))


def satisfiable(solver, *more):
    solver.push()
    solver.add(*more)
    answer = solver.check()
    solver.pop()
    if answer == z3.unknown:
        raise SystemExit(f"the solver does not know: {solver.reason_unknown()}")
    return answer == z3.sat


def solver_of(*formulas):
    solver = z3.Solver()
    solver.set("timeout", MILLISECONDS)
    solver.add(*formulas)
    return solver


class Space:
    """The variables and facts of a problem, and its claims as formulas."""

    def __init__(self, variables, facts):
        self.states, self.numbers, self.words, self.evidence, self.facts = {}, {}, {}, {}, {}
        self.always = []  # what holds of every device and site
        for name, (kind, state) in variables.items():
            self.states[name] = state
            if kind in ("number", "whole"):
                self.numbers[name] = z3.Int(name) if kind == "whole" else z3.Real(name)
            else:
                self.word(name, kind)
            if state is not None:
                self.word(state, ENABLED + 1)
        for key, row in facts.items():
            self.facts[key] = real(row) if isinstance(row, str) else self.fact(key, row)

    def word(self, name, count):
        if name not in self.words:
            word = self.words[name] = z3.Int("word:" + name)
            self.always += [word >= 0, word < count]

    def fact(self, key, row):
        if "words" in row:
            fact = z3.Int("fact:" + key)
            self.always += [fact >= 0, fact < row["words"]]
            return fact
        fact = z3.Int("fact:" + key) if row["whole"] else z3.Real("fact:" + key)
        self.always += edges(fact, row)
        return fact

    def known_by(self, name):
        if name not in self.evidence:
            kind = self.evidence[name] = z3.Int("evidence:" + name)
            self.always += [kind >= 0, kind < KINDS_OF_EVIDENCE]
        return self.evidence[name]

    def enabled(self, names):
        """That the functions of these variables are enabled."""
        states = {self.states[name] for name in names} - {None}
        return [self.words[state] == ENABLED for state in sorted(states)]

    def bare(self, claim):
        """What a claim says while it binds."""
        on = claim["on"]
        for kind in ("at-least", "at-most"):
            if kind in claim:
                number, fact, is_open = claim[kind]
                edge = real(number) if fact is None else real(number) * self.facts[fact]
                term = self.numbers[on[0]] if len(on) == 1 else self.numbers[on[0]] - self.numbers[on[1]]
                if kind == "at-least":
                    return term > edge if is_open else term >= edge
                return term < edge if is_open else term <= edge
        if "one-of" in claim:
            return z3.Or([self.words[on[0]] == word for word in claim["one-of"]])
        return z3.And([z3.Or([self.known_by(name) == kind for kind in claim["known-by"]]) for name in on])

    def formula(self, claim):
        """A claim binds only while its functions are enabled."""
        return z3.Implies(z3.And(self.enabled(claim["on"])), self.bare(claim))

    def is_met(self, condition):
        fact = self.facts[condition["fact"]]
        if "one-of" in condition:
            return z3.Or([fact == word for word in condition["one-of"]])
        return z3.And(edges(fact, condition))

    def is_so(self, example):
        """That the variables are those of an example. What it does not mention is not asked about."""
        said = []
        for name, value in example["values"].items():
            if isinstance(value, str) and name in self.numbers:
                said.append(self.numbers[name] == real(value))
            elif name in self.words:
                said.append(self.words[name] == value)
        said += [self.known_by(name) == kind for name, kind in example["known-by"].items()]
        return said + self.is_at(example["facts"])

    def is_at(self, site):
        """Numbers come as text, words as their positions."""
        return [self.facts[key] == (real(value) if isinstance(value, str) else value) for key, value in site.items() if key in self.facts]


def edges(term, row):
    """Between two edges, each `[number, open]` or nothing."""
    said = []
    if row["low"] is not None:
        at, is_open = row["low"]
        said.append(term > real(at) if is_open else term >= real(at))
    if row["high"] is not None:
        at, is_open = row["high"]
        said.append(term < real(at) if is_open else term <= real(at))
    return said


class Claims:
    """A list of claims, and what is asked of it."""

    def __init__(self, problem):
        self.problem = problem
        self.space = Space(problem["variables"], problem["facts"])
        # evidence is made known before the first claim is written, so that its kinds hold everywhere
        for claim in problem["claims"] + problem["others"]:
            if "known-by" in claim:
                for name in claim["on"]:
                    self.space.known_by(name)
        self.claims = [self.space.formula(claim) for claim in problem["claims"]]
        self.solver = solver_of(*self.space.always, *self.claims)

    def answers(self):
        problem = self.problem
        return {
            "contradicts": not self.can_keep(range(len(self.claims))),
            "ranges": [self.range(name) for name in problem["ranges"]],
            "follows": [not satisfiable(self.solver, *self.breaks(claim)) for claim in problem["others"]],
        }

    def can_keep(self, some):
        """Every function that all the claims let be enabled is taken to be; of the others nothing is claimed."""
        allowed = {name: {0, 1, ENABLED} for name in self.space.words}
        for claim in self.problem["claims"]:
            if "one-of" in claim and claim["on"][0] in allowed:
                allowed[claim["on"][0]] &= set(claim["one-of"])
        states = sorted({state for state in self.space.states.values() if state is not None and ENABLED in allowed[state]})
        solver = solver_of(*self.space.always, *[self.claims[n] for n in some])
        return satisfiable(solver, *[self.space.words[state] == ENABLED for state in states])

    def breaks(self, claim):
        return self.space.enabled(claim["on"]) + [z3.Not(self.space.bare(claim))]

    def unit(self):
        """Where no fact is unknown, every edge is a sum of the claims' numbers, so a multiple of this."""
        numbers = [Fraction(1)]
        for claim in self.problem["claims"]:
            for kind in ("at-least", "at-most"):
                if kind in claim:
                    number, fact, _ = claim[kind]
                    known = self.problem["facts"].get(fact)
                    numbers.append(Fraction(number) * Fraction(known if isinstance(known, str) else 1))
        return Fraction(1, math.lcm(*[number.denominator for number in numbers]))

    def range(self, name):
        """Both edges of what is left of a variable while its function is enabled; nothing where nothing is."""
        solver = solver_of(*self.space.always, *self.claims, *self.space.enabled([name]))
        if not satisfiable(solver):
            return None
        number = self.space.numbers[name]
        return [self.edge(solver, number, name, way) for way in (-1, 1)]

    def edge(self, solver, number, name, way):
        """The first multiple of the unit with nothing beyond it, by halving. Where it lies on an unknown fact
        the edge may lie short of it, and then counts as open."""
        unit = self.unit()
        outwards = number if way > 0 else -number
        if satisfiable(solver, outwards > real(WITHOUT_END)):
            return None
        solver.check()
        held = solver.model().eval(number, model_completion=True)
        at = way * Fraction(held.as_fraction() if z3.is_rational_value(held) else held.as_long())
        low, step = math.floor(at / unit) - 1, 1  # something lies beyond the low one
        while satisfiable(solver, outwards > real((low + step) * unit)):
            low, step = low + step, step * 2
        high = low + step  # nothing lies beyond the high one
        while high - low > 1:
            middle = (low + high) // 2
            if satisfiable(solver, outwards > real(middle * unit)):
                low = middle
            else:
                high = middle
        is_reached = satisfiable(solver, outwards == real(high * unit))
        return [decimal(way * high * unit), not is_reached]

    def confirmed(self, shown):
        """The contradiction and the examples that are shown, if they are such."""
        core, answer = shown["core"], {"core": shown["core"], "examples": []}
        if core is not None:
            needs_each = all(self.can_keep([m for m in core if m != n]) for n in core)
            if self.can_keep(core) or not needs_each:
                answer["core"] = wrong("no contradiction that needs each claim", core, self.problem)
        for claim, example in zip(self.problem["others"], shown["examples"]):
            if example is None:
                answer["examples"].append(None)
            elif satisfiable(self.solver, *self.breaks(claim), *self.space.is_so(example)):
                answer["examples"].append(fingerprint(example))
            else:
                answer["examples"].append(wrong("no example", example, claim, self.problem))
        return answer


class Versions:
    """What two versions say of a setting, layer over layer and case by case."""

    def __init__(self, problem):
        self.problem = problem
        self.space = Space(problem["variables"], problem["facts"])
        self.sides = [self.asked(side) for side in problem["sides"]]

    def asked(self, side):
        """What a version asks of the setting: nothing while its function may not be enabled."""
        own, _ = self.laid(side["own"], lambda claim: self.space.bare(claim))
        if side["state"] is None:
            return own
        may_be_enabled, _ = self.laid(side["state"], lambda claim: z3.BoolVal(ENABLED in claim["one-of"]))
        return z3.Implies(may_be_enabled, own)

    def laid(self, layers, meaning):
        """What complies, and whether nothing has been asked yet, as formulas of the site's facts."""
        complies, is_empty = z3.BoolVal(True), z3.BoolVal(True)
        for layer in layers:
            says = self.over((complies, is_empty), layer["otherwise"], meaning)
            for case in reversed(layer["cases"]):
                met = z3.And([self.space.is_met(condition) for condition in case["when"]])
                of_case = self.over((complies, is_empty), case["says"], meaning)
                says = [z3.If(met, one, other) for one, other in zip(of_case, says)]
            complies, is_empty = says
        return complies, is_empty

    def over(self, below, verbs, meaning):
        """What one layer makes of what lies below it."""
        complies, is_empty = below
        if verbs is None:
            return below
        if verbs["unseen"]:
            return z3.BoolVal(True), z3.BoolVal(False)
        all_of = lambda claims: z3.And([meaning(claim) for claim in claims])
        if verbs["comply"] is not None:
            complies, is_empty = all_of(verbs["comply"]), z3.BoolVal(not verbs["comply"])
        if verbs["adjustable"] is not None:
            movable, nothing = all_of(verbs["adjustable"]), z3.BoolVal(not verbs["adjustable"])
            complies, is_empty = z3.If(is_empty, movable, complies), z3.And(is_empty, nothing)
        if verbs["also"]:
            complies, is_empty = z3.And(complies, all_of(verbs["also"])), z3.BoolVal(False)
        return complies, is_empty

    def answers(self):
        old, new = self.sides
        holds = [self.space.formula(claim) for claim in self.problem["space"]] + self.space.enabled([self.problem["setting"]] if self.problem["setting"] in self.space.states else [])
        solver = solver_of(*self.space.always, *holds)
        lost, gained = [old, z3.Not(new)], [new, z3.Not(old)]
        at = lambda site: (satisfiable(solver, *self.space.is_at(site), *lost), satisfiable(solver, *self.space.is_at(site), *gained))
        words = {(False, False): "=", (True, False): "-", (False, True): "+", (True, True): "x"}
        return {
            "sites": "".join(words[at(site)] for site in self.problem["sites"]),
            "lost": satisfiable(solver, *lost),
            "gained": satisfiable(solver, *gained),
        }


def decimal(number):
    """`253.5`; the numbers of claims have few digits."""
    for decimals in range(19):
        scaled = number * 10**decimals
        if scaled.denominator == 1:
            digits = f"{abs(scaled.numerator):0{decimals + 1}d}"
            whole, rest = (digits[:-decimals], digits[-decimals:]) if decimals else (digits, "")
            return ("-" if number < 0 else "") + whole + ("." + rest if rest else "")
    raise SystemExit(f"not a decimal number: {number}")


def fingerprint(example):
    """FNV-1a of 64 bits over the example as it is written."""
    number = 0xCBF29CE484222325
    for byte in json.dumps(example, separators=(",", ":"), ensure_ascii=False).encode():
        number = ((number ^ byte) * 0x100000001B3) % 2**64
    return f"{number:016x}"


WRONG = []


def wrong(*words):
    WRONG.append(words)
    print(*[word if isinstance(word, str) else json.dumps(word) for word in words], file=sys.stderr)
    return "wrong"


def answered(problems, of, title):
    answers = {}
    for n, (key, problem) in enumerate(sorted(problems.items())):
        answers[key] = of(problem).answers()
        if n % 500 == 0:
            print(f"{title}: {n} of {len(problems)}", file=sys.stderr)
    return answers


def main():
    global KINDS_OF_EVIDENCE
    with open(sys.argv[1], encoding="utf-8") as file:
        asked = json.load(file)
    KINDS_OF_EVIDENCE = asked["kinds-of-evidence"]
    claims, versions = answered(asked["claims"], Claims, "claims"), answered(asked["versions"], Versions, "versions")
    for key, shown in asked["shown"].items():
        claims[key] |= Claims(asked["claims"][key]).confirmed(shown)
    line = lambda row: f'"{row[0]}":{json.dumps(row[1], separators=(",", ":"))}'
    table = lambda answers: "{\n" + ",\n".join(map(line, answers.items())) + "\n}"
    written = {"written-by": "algebra.py", "with": f"z3-solver {z3.get_version_string()}"}
    print(f'{json.dumps(written)[:-1]},\n"claims": {table(claims)},\n"versions": {table(versions)}}}')
    return 1 if WRONG else 0


if __name__ == "__main__":
    sys.exit(main())

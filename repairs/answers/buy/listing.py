"""The buy list of the bench: what no drawer, donor or order can give the open jobs.

Prices of parts and purchases are guesses for one piece; on the list they are for packs.  Purchases in state
wanted are on the list already and serve first; ordering from the list uses them up before it makes new ones.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from decimal import Decimal

from inventory.chunks import chunks
from inventory.models import Part
from repairs.answers.buy.answer import ANYWAY, Buy, Completion, LineToBuy, OtherToAsk, ServedJob
from repairs.answers.buy.asking import Asking, ask_friends, asked_of
from repairs.answers.others import others_may
from repairs.answers.pieces import FriendMay, InQuestion, OtherMay, fitting
from repairs.answers.shortages import questions_of
from repairs.models import PieceAsk, Purchase
from repairs.planning.buying import BuyLine, BuyList, OnSale, ServedDemand, buy_list
from repairs.planning.optimiser import Demand, Plan
from repairs.planning.stocking import Restock, restock
from repairs.supply_and_demand import DemandKey, JobDemand, SupplyAndDemand, planned, read_specs

State = Purchase.State


def to_buy(
    jobs: Collection[int] | None = None,
    *,
    postage: Decimal | None = None,
    borrow: bool = False,
    ask: bool = False,
    friends: str = ANYWAY,
) -> Buy:
    """What is left to buy after the best use of everything free, for all open jobs or for those named.

    The plan behind it is always over all open jobs; `borrow` also draws on working boards, `ask` on pieces
    that a person must decide on.  What only waits for the answer to a question is not on the list but among
    its `questions`.  `postage` for the whole order is shared by price.  Without `jobs` the list
    also has what is wanted for stock, and what brings the drawers back to the reorder levels.  `friends` says
    what is done about what they have (`asking`): by default it is bought all the same.
    """
    bench, plan = planned(borrow=borrow, ask=ask)
    short = plan.to_buy(bench.demands)
    wished = _Wished.load()
    lacking = below_levels(bench, plan) if jobs is None else {}
    shelf = _PartsOnSale.load(
        {demand.spec.kind for demand in short}, {*wished.pieces, *lacking}, wished.price
    )

    def list_of(demands: Sequence[Demand], elsewhere: Collection[int]) -> BuyList:
        return buy_list(
            demands, shelf.on_sale, postage=postage, wished=wished.pieces, wished_by=wished.own,
            jobs=jobs, recorded=bench.recorded, elsewhere=elsewhere,
            restock={part: each.pieces for part, each in lacking.items()},
        )  # fmt: skip

    asking = ask_friends(friends, bench, plan, short, list_of, jobs, postage)
    answer = _answer(asking.result, bench, shelf, wished, lacking, questions_of(bench, plan, jobs))
    answer.friends, answer.ask_friends = friends, asked_of(asking, bench)
    _name_friends(answer, asking, jobs)
    asked = _name_others(answer, bench, plan, jobs, asking.of_others)
    if friends != ANYWAY:
        answer.totals.from_others = sum(asking.of_others.values()) - asked
        answer.totals.from_friends = sum(each.quantity for each in asking.gives)
        answer.totals.asked, answer.totals.saved = asking.waiting + asked, asking.saved
        answer.totals.truncated = asking.truncated
    return answer


def _name_friends(answer: Buy, asking: Asking, jobs: Collection[int] | None) -> None:
    """Say with each line which friends have what would do, and what of it they were asked for.

    What is to be asked of them in place of buying is theirs to give once: only what is left is named here.
    """
    who: defaultdict[int, list[FriendMay]] = defaultdict(list)
    for requirement, may in asking.tier.may(jobs):
        if left := may.quantity - asking.gone[may.line]:
            who[requirement].append(replace(may, quantity=left, would=min(may.would, left)))
    asked: Counter[tuple[int, int]] = Counter()
    for demand, quantity in asking.tier.waiting():
        asked[demand.id.spec, demand.job] += quantity
    for line in answer.results:
        requirements = dict.fromkeys(job.requirement for job in line.jobs)
        line.friends = [may for requirement in requirements for may in who[requirement]]
        if answer.friends == ANYWAY and asked:
            for job in line.jobs:  # several lines may serve one demand: a piece is counted with the first
                took = min(asked[job.requirement, job.job], job.quantity)
                asked[job.requirement, job.job] -= took
                line.asked += took


def _name_others(
    answer: Buy, bench: SupplyAndDemand, plan: Plan, jobs: Collection[int] | None,
    of_others: Mapping[DemandKey, int],
) -> int:  # fmt: skip
    """Say with each line who else at this bench has what would do; how many of the pieces that they could
    give were asked for, and wait for their answer."""
    lots, asked = _asked_of_others()
    left: Counter[tuple[int, int]] = Counter()
    for demand, pieces in of_others.items():
        left[demand.spec, demand.job] += pieces
    waiting = sum(min(pieces, asked[of_job]) for of_job, pieces in left.items())
    left -= asked
    who: defaultdict[tuple[int, int], list[OtherMay]] = defaultdict(list)
    found = bench.of_others(plan)
    for requirement, may in others_may(bench, found, jobs):
        who[requirement, may.job].append(may)
        if may.grade != "ask":
            required = bench.specs[requirement].text
            fresh = min(may.quantity - lots[requirement, may.job, may.lot], left[requirement, may.job])
            lots[requirement, may.job, may.lot] -= may.quantity - fresh
            if fresh > 0:
                left[requirement, may.job] -= fresh
                as_asked = {each.name: getattr(may, each.name) for each in fields(may)} | {"quantity": fresh}
                answer.ask_others.append(OtherToAsk(**as_asked, requirement=requirement, for_text=required))
    named: set[tuple[int, int]] = set()  # several lines may serve one job: who has it is named with the first
    for line in answer.results:
        for key in dict.fromkeys((job.requirement, job.job) for job in line.jobs):
            if key not in named:
                line.others += who[key]
            named.add(key)
    return waiting


def _asked_of_others() -> tuple[Counter[tuple[int, int, int | None]], Counter[tuple[int, int]]]:
    """Pieces that others here were asked for and have not answered: by requirement, job and lot, and by
    requirement and job."""
    lots: Counter[tuple[int, int, int | None]] = Counter()
    asked: Counter[tuple[int, int]] = Counter()
    rows = PieceAsk.objects.filter(state=PieceAsk.State.ASKED)
    for spec, job, lot, pieces in rows.values_list("need__spec", "need__job", "lot", "quantity"):
        lots[spec, job, lot] += pieces
        asked[spec, job] += pieces
    return lots, asked


def wished_parts() -> Collection[int]:
    """Parts that purchases ask for which are not ordered yet."""
    return _Wished.load().pieces.keys()


def below_levels(bench: SupplyAndDemand, plan: Plan) -> dict[int, Restock]:
    """What the drawers lack of each part to its reorder level, once the jobs have theirs, by part."""
    kept = Part.objects.filter(reorder_at__gt=0).values_list("id", "reorder_at")
    left = ((supply.id.part, supply) for supply in plan.spare(bench.supplies) if supply.owner is None)
    return restock({part: level for part, level in kept if level is not None}, left)


@dataclass(frozen=True)
class _Wished:
    """What purchases ask for that are not ordered yet, by part: pieces, how many of them for whom alone, a
    price, a supplier."""

    pieces: Mapping[int, int]
    own: Mapping[int, Mapping[int, int]]
    price: Mapping[int, Decimal]
    bought_from: Mapping[int, str]

    @classmethod
    def load(cls) -> "_Wished":
        pieces: defaultdict[int, int] = defaultdict(int)
        own: defaultdict[int, Counter[int]] = defaultdict(Counter)
        price: dict[int, Decimal] = {}
        bought_from: dict[int, str] = {}
        for part, quantity, owner, each, giver in (
            Purchase.objects.filter(state=State.WANTED)
            .order_by("id")
            .values_list("part_id", "quantity", "owner_id", "price", "bought_from")
        ):
            pieces[part] += quantity
            if owner is not None:
                own[part][owner] += quantity
            if each is not None:
                price[part] = each
            if giver:
                bought_from[part] = giver
        return cls(pieces, own, price, bought_from)


@dataclass(frozen=True)
class _PartsOnSale:
    """Every part of the kinds that are short, and those named, as they can be bought, and what the bench
    calls them."""

    on_sale: Sequence[OnSale]
    names: Mapping[int, str]
    price_each: Mapping[int, Decimal | None]

    @classmethod
    def load(
        cls, kinds: Collection[str], parts: Collection[int], prices: Mapping[int, Decimal]
    ) -> "_PartsOnSale":
        columns = "id", "name", "spec_id", "price", "pack_size"
        rows = {row[0]: row for row in Part.objects.filter(spec__kind__in=kinds).values_list(*columns)}
        rows |= {
            row[0]: row
            for chunk in chunks(sorted(parts))
            for row in Part.objects.filter(pk__in=chunk).values_list(*columns)
        }
        specs = read_specs({row[2] for row in rows.values()})
        each = {part: prices.get(part, price) for part, _, _, price, _ in rows.values()}
        on_sale = [
            OnSale(part, specs[spec], _of_pack(each[part], pack_size), pack_size)
            for part, _, spec, _, pack_size in rows.values()
        ]
        return cls(on_sale, {part: name for part, name, *_ in rows.values()}, each)


def _of_pack(each: Decimal | None, pack_size: int) -> Decimal | None:
    return None if each is None else each * pack_size


def _answer(
    result: BuyList,
    bench: SupplyAndDemand,
    shelf: _PartsOnSale,
    wished: _Wished,
    lacking: Mapping[int, Restock],
    questions: list[InQuestion],
) -> Buy:
    soonest = {
        line: rank for rank, each in reversed(list(enumerate(result.completions))) for line in each.lines
    }
    order = sorted(range(len(result.lines)), key=lambda line: (soonest.get(line, len(soonest)), line))
    place = {line: at for at, line in enumerate(order)}
    suppliers = {
        **_last_suppliers(line.part for line in result.lines if line.part is not None),
        **wished.bought_from,
    }
    names = {job: name for job, (name, _, _) in bench.jobs.items()}
    listed: Counter[DemandKey] = Counter()
    return Buy.of(
        [
            replace(
                _line(result.lines[line], bench.lines, shelf, suppliers, names, listed),
                restock_text=lacking[part].text if (part := result.lines[line].part) in lacking else "",
            )
            for line in order
        ],
        questions,
        [
            Completion(
                sorted(place[n] for n in each.lines), each.price, [*each.jobs], _named(each.jobs, names)
            )
            for each in result.completions
        ],
        result.price,
        result.postage,
    )


def _named(jobs: Iterable[int], names: Mapping[int, str]) -> list[str]:
    return [names[job] for job in jobs]


def _line(
    line: BuyLine,
    lines: Mapping[DemandKey, JobDemand],
    shelf: _PartsOnSale,
    suppliers: Mapping[int, str],
    names: Mapping[int, str],
    listed: Counter[DemandKey],
) -> LineToBuy:
    return LineToBuy(
        part=line.part,
        name=line.spec.text if line.part is None else shelf.names[line.part],
        spec=line.spec,
        spec_text=line.spec.text,
        needed=line.quantity,
        packs=line.packs,
        pack_size=line.pack_size,
        pieces=line.packs * line.pack_size,
        for_stock=line.for_stock,
        wanted=line.wished,
        restock=line.restock,
        price_each=None if line.part is None else shelf.price_each[line.part],
        price=line.price,
        postage=line.postage,
        bought_from="" if line.part is None else suppliers.get(line.part, ""),
        completes=[*line.completes],
        completes_names=_named(line.completes, names),
        jobs=[
            _served(each, lines[each.demand.id], listed)
            for each in sorted(line.serves, key=lambda each: (each.demand.rank, each.demand.id))
        ],
    )


def _served(each: ServedDemand, demand: JobDemand, listed: Counter[DemandKey]) -> ServedJob:
    """`listed` are the pieces of each demand whose references stand with a line already: each stands once."""
    fit = {"grade": "same", "reasons": (), "why": []} if each.fit is None else fitting(each.fit)
    before = demand.short_refs(listed[each.demand.id])
    listed[each.demand.id] += each.demand.quantity
    refs = [ref for ref in demand.short_refs(listed[each.demand.id]) if ref not in before]
    return ServedJob(
        **fit, job=demand.job, name=demand.name, refs=refs,
        quantity=each.demand.quantity, spec_text=each.demand.spec.text, requirement=each.demand.id.spec,
    )  # fmt: skip


def _last_suppliers(parts: Iterable[int]) -> dict[int, str]:
    """Who each part was bought from last."""
    bought = Purchase.objects.filter(part__in=list(parts)).exclude(bought_from="").order_by("id")
    return dict(bought.values_list("part_id", "bought_from"))

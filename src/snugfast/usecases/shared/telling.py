"""Entries told in sentences: the echo before keeping, and the lines of the journal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from snugfast.core.vocabulary import in_sentence
from snugfast.core.zones import local_day, local_time
from snugfast.facts.model import Facts
from snugfast.facts.texts import size_text
from snugfast.records.box import taken_by
from snugfast.records.entries import (
    Answer,
    BoxArrived,
    BoxCounted,
    BoxOrdered,
    BoxPart,
    BoxTook,
    Broke,
    BuildChanged,
    CameBack,
    CarAdded,
    CarLeft,
    CaughtUp,
    ChargerAdded,
    ChargerLeft,
    Checked,
    Done,
    Entry,
    Failed,
    Ground,
    Hunted,
    HuntEnd,
    LaidUp,
    LearnerLimits,
    Measured,
    Money,
    PackAdded,
    PackCharged,
    PackCleared,
    PackHarm,
    PackHurt,
    PackLeft,
    PackLooked,
    PackMeasured,
    PackStands,
    PartFitted,
    PartMoved,
    Precision,
    RadioTested,
    Ran,
    Reading,
    SettingChanged,
    SettingsChosen,
    SetUpChanged,
    SheetDone,
    SteeringSet,
    TreatmentDone,
    Unreadable,
    Withdrawn,
    WokenUp,
    WorkDone,
)
from snugfast.records.ledger import Ledger
from snugfast.records.moments import only_about, twice_on_the_clock
from snugfast.usecases.shared.chemistry import shown
from snugfast.usecases.shared.remedies import WORDS

MARK_LENGTH = 6


def tell(entry: Entry, facts: Facts, ledger: Ledger) -> str:
    """One entry in one sentence, its day in front.

    Whatever an entry holds, it is told: one that came with values no command would write (from another bench,
    an older program, tables that are gone) is named by its kind, so that it can be found and withdrawn.
    """
    try:
        told = _Teller(facts, ledger).tell(entry)
    except (LookupError, ValueError, TypeError, AttributeError, ArithmeticError) as reason:
        kind = type(entry.fact).__name__
        told = f"This entry ({kind}) cannot be told: {type(reason).__name__}. It can be withdrawn."
    return f"{tell_when(entry)}: {told}"


def mark_of(entry_id: UUID) -> str:
    """The short mark of an entry: the end of its identity, which is the part that differs."""
    return entry_id.hex[-MARK_LENGTH:]


def tell_when(entry: Entry) -> str:
    """The moment as surely as it is known, where it happened; with its offset in an hour that came twice."""
    local = local_time(entry.happened_at, entry.zone)
    match entry.precision:
        case Precision.MINUTE:
            return f"{local:%Y-%m-%d %H:%M}{_offset(local) if _twice(entry) else ''}"
        case Precision.DAY:
            return f"{local:%Y-%m-%d}"
        case Precision.ABOUT:
            return f"about {local:%Y-%m-%d}"


def tell_twice(entry: Entry) -> Iterator[str]:
    """Which of the two is meant, where the clocks went back and showed a time twice."""
    both = _twice(entry)
    if both is None:
        return
    first, second = both
    is_first = entry.happened_at.astimezone(UTC) == first.astimezone(UTC)
    which, other, meant = ("first", "second", second) if is_first else ("second", "first", first)
    yield (
        f"{first:%H:%M} came twice that night, since the clocks went back; this is the {which} time. "
        f"The {other} is written {meant:%Y-%m-%d %H:%M}{_offset(meant)}."
    )


def _twice(entry: Entry) -> tuple[datetime, datetime] | None:
    return twice_on_the_clock(entry.happened_at, entry.zone) if entry.precision is Precision.MINUTE else None


def _offset(local: datetime) -> str:
    """The offset from UTC, as it can be typed: “+01:00”."""
    return local.isoformat(timespec="minutes")[-len("+01:00") :]


def tell_money(amount: Money) -> str:
    """An amount with its currency."""
    return f"{amount.minor / 100:.2f} {amount.currency}"


def catch_up_typed(packs: str, since: str, minutes_each: str, wet_packs: str) -> str:
    """What was typed of running remembered in bulk, as its entry keeps it."""
    said = (("packs", packs), ("since", since), ("minutes each", minutes_each), ("wet packs", wet_packs))
    return "; ".join(f"{label}: {words.strip()}" for label, words in said if words.strip())


def _about(typed: str, label: str, unsaid: str = "about so many") -> str:
    """“about ” where the words typed under a label say so of themselves."""
    said = {name: words for name, _, words in (piece.partition(": ") for piece in typed.split("; "))}
    return "about " if only_about(said.get(label, unsaid)) else ""


def tell_size(facts: Facts, name: str, value: str | float) -> str:
    """A size of a part with its unit, where it has one: “7 mm”, “module 0.8”."""
    return f"{size_text(value)} {facts.size_units.get(name, '')}".strip()


class _Teller:
    def __init__(self, facts: Facts, ledger: Ledger) -> None:
        self.facts = facts
        self.ledger = ledger

    def tell(self, entry: Entry) -> str:
        taken = "".join(
            f" From the box: {one.count} × {self._item(one.item)}." for one in taken_by(entry.fact)
        )
        return f"{self._told(entry)}{taken}"

    def _told(self, entry: Entry) -> str:
        match entry.fact:
            case CarAdded(name=name, history=history, build=build):
                return f"{name} joined, {history.value} ({build.get('name', 'own build')})."
            case BuildChanged(car=car):
                return f"The build of {self._car(car)} was changed."
            case CarLeft(car=car, why=why):
                return f"{self._car(car)} left the workshop{_because(why)}."
            case PackAdded(name=name, chemistry=chemistry, cells=cells, capacity_Ah=capacity):
                return f"Pack {name} joined: {shown(chemistry)}, {cells} cells, {capacity:g} Ah."
            case PackLeft(pack=pack, why=why):
                return f"Pack {self._pack(pack)} left the workshop{_because(why)}."
            case PackLooked(pack=pack, found=found, words=words):
                seen = _harms(found) or "nothing found"
                return f"Pack {self._pack(pack)} looked at, felt and smelled: {seen}{_because(words)}."
            case PackHurt() as hurt:
                return self._hurt(hurt)
            case PackCleared(pack=pack, harms=harms, by=by):
                return f"Pack {self._pack(pack)} brought back from {_harms(harms) or 'heat'}{_because(by)}."
            case PackCharged() as charged:
                return self._charged(charged)
            case PackMeasured() as measured:
                return self._pack_measured(measured)
            case PackStands(pack=pack, stands=stands, car=car):
                where = f" in {self._car(car)}" if car else ""
                return f"Pack {self._pack(pack)} put away {stands.value}{where}."
            case ChargerAdded() as charger:
                supply = f", fed by {charger.supply_W:g} W" if charger.supply_W else ""
                stores = "with" if charger.stores else "without"
                return (
                    f"Charger {charger.name} joined: {charger.channels} × {charger.most_A:g} A, "
                    f"{charger.most_W:g} W{supply}, {stores} a storage function."
                )
            case ChargerLeft(charger=charger, why=why):
                known = self.ledger.chargers.get(charger)
                return f"Charger {known.name if known else 'unknown'} left the workshop{_because(why)}."
            case Ran() as ran:
                return self._ran(ran)
            case CaughtUp() as told:
                return self._caught_up(entry, told)
            case Checked() as checked:
                return self._checked(checked)
            case Failed(car=car, broke=broke):
                return f"{self._car(car)}, off the track: {self._broke(broke)}."
            case SheetDone(cars=cars, began_at=began_at, asked_min=asked):
                spent_min = (entry.happened_at - began_at).total_seconds() / 60.0
                return f"{_and(map(self._car, cars))}: sheet of {asked:g} min done in {spent_min:.0f} min."
            case Hunted() as hunt:
                return self._hunted(hunt)
            case PartFitted(car=car, name=name, spots=spots, spent=spent) as fitted:
                at = f" ({', '.join(spots)})" if spots else ""
                paid = f" for {tell_money(spent)}" if spent else ""
                state = "second-hand" if fitted.second_hand else "new"
                return f"{self._car(car)}: {name}{at} fitted, {state}{paid}{self._brought(fitted)}."
            case PartMoved() as moved:
                giver, taker = self._car(moved.from_car), self._car(moved.to_car)
                place = self._place(moved.from_car, moved.from_place)
                return f"{place} moved from {giver} to {taker}."
            case WorkDone(car=car, event=event, words=words):
                return f"{self._car(car)}: {event}{_because(words)}."
            case SettingChanged(car=car, name=name, value=value):
                return f"{self._car(car)}: {name} set to {value}."
            case Measured() as measured:
                return self._measured(measured)
            case SteeringSet() as steered:
                return self._steering_set(steered)
            case SetUpChanged() as changed:
                return self._set_up(changed)
            case RadioTested() as tested:
                return self._radio(tested)
            case LearnerLimits() as limits:
                return self._limits(limits)
            case TreatmentDone(car=car, treatment=treatment, minutes=minutes):
                took = f", {minutes:g} min" if minutes is not None else ""
                return f"{self._car(car)}: done: {self._treatment(treatment)}{took}."
            case LaidUp(car=car, words=words):
                return f"{self._car(car)} was laid up{_because(words)}."
            case WokenUp(car=car, words=words):
                return f"{self._car(car)} was woken up{_because(words)}."
            case CameBack(car=car, packs_low=low, packs_high=high):
                return f"{self._car(car)} came back after {low:g} to {high:g} packs elsewhere."
            case BoxPart() as part:
                return self._box_part(part)
            case BoxCounted(item=item, count=count):
                return f"Spares box counted: {count} × {self._item(item)}."
            case BoxTook(item=item, count=count, why=why):
                return f"Out of the spares box: {count} × {self._item(item)}{_because(why)}."
            case BoxOrdered(item=item, count=count, spent=spent):
                return f"Ordered: {count} × {self._item(item)}{_paid(spent)}."
            case BoxArrived(item=item, count=count, spent=spent):
                return f"Into the spares box: {count} × {self._item(item)}{_paid(spent)}."
            case SettingsChosen(values=values):
                return f"Settings: {', '.join(_settings(values, self.ledger.settings))}."
            case Unreadable(kind=kind, why=why, newer=newer):
                ends = "Update Snugfast to read it." if newer else "It counts for nothing; withdraw it."
                return f"Unreadable entry of kind “{kind}”: {why.rstrip('.')}. {ends}"
            case Withdrawn(entry=taken_back, why=why):
                return f"Entry {mark_of(taken_back)} was taken back{_because(why)}."

    def _ran(self, ran: Ran) -> str:
        about = "about " if ran.about else ""
        packs = f" with {_and(self._pack(pack) for pack in ran.packs)}" if ran.packs else ""
        ground = f" on {ran.ground.value}" if ran.ground is not Ground.UNKNOWN else ""
        parts = [
            f"{self._car(ran.car)} ran {about}{ran.running_min:g} min{packs}{ground}",
            ran.wet.value,
            _hits(ran),
        ]
        if ran.ambient_degC is not None:
            parts.append(f"air {ran.ambient_degC:g} °C")
        parts += [_reading(reading) for reading in ran.readings]
        if ran.put_back_Ah is not None:
            parts.append(f"put back {ran.put_back_Ah * 1000:.0f} mAh")
        parts += [f"noticed: {words}" for words in ran.noticed]
        parts += [self._broke(broke) for broke in ran.broke]
        return ", ".join(parts[:3]) + "".join(f"; {part}" for part in parts[3:]) + "."

    def _caught_up(self, entry: Entry, told: CaughtUp) -> str:
        typed = entry.typed
        about_packs = _about(typed, "packs")
        about_minutes = about_packs or _about(typed, "minutes each")
        about_wet = _about(typed, "wet packs", "")
        wet = f", {about_wet}{told.wet_packs:g} of them in {told.wet.value}" if told.wet_packs else ""
        hits = f", {_count(told.hard_hits, 'hard hit')}" if told.hard_hits else ""
        since = f"{_about(typed, 'since', '')}{local_day(told.since, entry.zone)}"
        ground = f" on {told.ground.value}" if told.ground is not Ground.UNKNOWN else ""
        return (
            f"{self._car(told.car)} ran {about_packs}{_count(told.packs, 'pack')} since {since}, "
            f"{about_minutes}{told.running_min:g} min in all{ground}{wet}{hits}."
        )

    def _checked(self, checked: Checked) -> str:
        check = self.facts.checks.get(checked.check)
        name = check.name if check else checked.check
        on = f", pack {self._pack(checked.pack)}" if checked.pack else ""
        if not checked.looked:
            return f"{self._car(checked.car)}{on}: {name}: ticked off, not checked."
        found = _and(self._answer(checked, answer) for answer in checked.answers) or "OK"
        paid = f" ({tell_money(checked.spent)})" if checked.spent else ""
        return f"{self._car(checked.car)}{on}: {name}: {found}{paid}."

    def _answer(self, checked: Checked, answer: Answer) -> str:
        place = f", {answer.spot}" if answer.spot else ""
        where = (
            f" at the {in_sentence(self._place(checked.car, answer.place))}"
            if answer.place and not self._says_where(checked.car, answer.place, answer.spot)
            else ""
        )
        done = "" if answer.mode is None and answer.done is Done.PUT_RIGHT else f", {WORDS[answer.done]}"
        return f"{answer.word}{where}{place}{done}"

    def _hunted(self, hunt: Hunted) -> str:
        known = self.facts.hunt_symptoms
        seen = _and(in_sentence(known[key].name) if key in known else key for key in hunt.symptoms)
        answers = _count(len(hunt.steps), "answer")
        told = f"{self._car(hunt.car)}: fault hunt ({seen}), {answers}"
        if hunt.end is not HuntEnd.FOUND:
            return f"{told}, {'still open' if hunt.end is HuntEnd.OPEN else 'given up'}."
        cause = self.facts.hunt_causes.get(hunt.cause)
        found = in_sentence(cause.name) if cause else hunt.cause
        if hunt.temporary:
            return f"{told}: {found}, mended only to get home."
        return f"{told}: {found}{f', {WORDS[hunt.broke.done]}' if hunt.broke else ''}."

    def _treatment(self, key: str) -> str:
        known = self.facts.treatments.get(key) or self.facts.one_off_sheets.get(key)
        return known.name if known else key

    def _measured(self, measured: Measured) -> str:
        at = f" at {measured.spot}" if measured.spot else ""
        listed = _and(reading.typed or f"{reading.value:g} {reading.unit}" for reading in measured.readings)
        anew = "; a new baseline" if measured.is_baseline else ""
        return f"{self._car(measured.car)}, {measured.trial.value}{at}: {listed}{anew}."

    def _steering_set(self, steered: SteeringSet) -> str:
        if steered.left is None and steered.right is None:
            lengths = _count(len(steered.measured), "measurement")
            return f"{self._car(steered.car)}: steering linkage measured, {lengths}{_because(steered.words)}."
        ends = [
            f"{name} {value:g} {steered.unit.value}"
            for name, value in (("left", steered.left), ("right", steered.right), ("centre", steered.centre))
            if value is not None
        ]
        heard = "servo quiet at both ends" if steered.quiet else "servo still hums at an end"
        radio = f" on {steered.radio}" if steered.radio else ""
        return (
            f"{self._car(steered.car)}: steering end points set{radio}: {', '.join(ends)}; "
            f"{heard}{_because(steered.words)}."
        )

    def _limits(self, limits: LearnerLimits) -> str:
        named = (("throttle", limits.throttle_percent), ("steering rate", limits.rate_percent))
        told = _and(f"{name} {value:g} %" for name, value in named if value is not None)
        return f"{self._car(limits.car)}: learner limits on {limits.radio}: {told}{_because(limits.words)}."

    def _radio(self, tested: RadioTested) -> str:
        parts = []
        if tested.when_off is not None:
            receiver = f" ({tested.receiver})" if tested.receiver else ""
            parts.append(f"transmitter off: motor {tested.when_off.value}{receiver}")
        if tested.range_m is not None:
            followed = "steering followed" if tested.follows_to_end else "it twitched or froze"
            parts.append(f"range walk {tested.range_m:g} m, {followed}")
        if tested.transmitter_V is not None:
            parts.append(f"transmitter batteries {tested.transmitter_V:g} V")
        if tested.model:
            parts.append(f"model memory {tested.model}")
        return f"{self._car(tested.car)}, radio {tested.radio}: {'; '.join(parts)}{_because(tested.words)}."

    def _set_up(self, changed: SetUpChanged) -> str:
        values = [f"{name} {value}" for name, value in _both_sides(changed.values)]
        told = f"{self._car(changed.car)}: set-up"
        told += f": {', '.join(values)}" if values else " as it stood"
        air = f"{changed.air_degC:g} °C" if changed.air_degC is not None else ""
        where = ", ".join(filter(None, (changed.track, changed.weather, air)))
        parts = (("at", where), ("why", changed.why), ("drove", changed.drove))
        return "; ".join([told, *(f"{name}: {text}" for name, text in parts if text)]) + "."

    def _hurt(self, hurt: PackHurt) -> str:
        parts = [harm.value for harm in hurt.harms]
        if hurt.hottest_degC is not None:
            parts.append(f"{hurt.hottest_degC:g} °C")
        car = f" in {self._car(hurt.car)}" if hurt.car else ""
        return f"Pack {self._pack(hurt.pack)}{car}: {_and(parts)}{_because(hurt.words)}."

    def _charged(self, charged: PackCharged) -> str:
        parts = []
        if charged.put_in_Ah is not None:
            way = "put in" if charged.put_in_Ah >= 0.0 else "taken out"
            parts.append(f"{abs(charged.put_in_Ah) * 1000:.0f} mAh {way}")
        if charged.minutes is not None:
            parts.append(f"{charged.minutes:g} min")
        if charged.current_A is not None:
            parts.append(f"at {charged.current_A:g} A")
        if charged.cells_V:
            parts.append(f"cells {_numbers(charged.cells_V)} V at the end")
        told = "".join(f", {part}" for part in parts)
        return f"Pack {self._pack(charged.pack)} charged: {charged.finish.value}{told}."

    def _pack_measured(self, read: PackMeasured) -> str:
        parts = []
        if read.rest_V:
            rested = "" if read.rested_min is None else f" after {_span(read.rested_min)} at rest"
            parts.append(f"cells {_numbers(read.rest_V)} V{rested}")
        if read.resistances_ohm:
            ohms = _numbers([1000.0 * ohm for ohm in read.resistances_ohm])
            parts.append(f"resistances {ohms} mΩ by {read.instrument}")
        if read.temperature_degC is not None:
            parts.append(f"{read.temperature_degC:g} °C")
        return f"Pack {self._pack(read.pack)} measured: {', '.join(parts)}."

    def _broke(self, broke: Broke) -> str:
        if broke.mode is None:
            done = "" if broke.done is Done.PUT_RIGHT else f", {WORDS[broke.done]}"
            return f"broke, cause unknown{self._of_pack(broke)}{_because(broke.words)}{done}"
        mode = self.facts.modes.get(broke.mode)
        name = in_sentence(mode.name) if mode else broke.mode
        spot = f", {broke.spot}" if broke.spot else ""
        return f"broke: {name}{spot}{self._of_pack(broke)}, {WORDS[broke.done]}"

    def _of_pack(self, broke: Broke) -> str:
        return f", pack {self._pack(broke.pack)}" if broke.pack else ""

    def _brought(self, fitted: PartFitted) -> str:
        """The sizes that the build has from then on."""
        if not fitted.sizes:
            return ""
        sizes = (
            f"{self.facts.size_names.get(key, key)} {tell_size(self.facts, key, value)}"
            for key, value in fitted.sizes.items()
        )
        return f"; the build says so from now on: {_and(sizes)}"

    def _box_part(self, part: BoxPart) -> str:
        if not part.is_kept:
            return f"Spares box: {part.name} was taken off the list."
        said = [f"in {part.place}"] if part.place else []
        said += [f"at least {part.minimum}"] if part.minimum else []
        said += [f"{tell_money(part.price)} each"] if part.price else []
        said += [f"in packs of {part.pack_of}"] if part.pack_of > 1 else []
        said += [f"from {part.supplier}"] if part.supplier else []
        said += [f"{part.delivery_days:g} days to come"] if part.delivery_days is not None else []
        return f"Spares box: {', '.join([part.name, *said])}."

    def _item(self, item: UUID) -> str:
        known = self.ledger.stock.items.get(item)
        return known.name if known else "a part that is not in the box"

    def _car(self, car: UUID) -> str:
        return self.ledger.cars[car].name if car in self.ledger.cars else "a car that is not here"

    def _pack(self, pack: UUID) -> str:
        return self.ledger.packs[pack].name if pack in self.ledger.packs else "a pack that is not here"

    def _says_where(self, car: UUID, key: str, spot: str) -> bool:
        """Whether a spot says by itself at which place it is: no like place of this car has one so called."""
        build = self.ledger.cars[car].build if car in self.ledger.cars else {}
        places = build.get("place", ())
        role = next((place["role"] for place in places if place["key"] == key), None)
        holding = [place for place in places if place["role"] == role and spot in place.get("spots", ())]
        return bool(spot) and len(holding) < 2

    def _place(self, car: UUID, key: str) -> str:
        build = self.ledger.cars[car].build if car in self.ledger.cars else {}
        return next((place["name"] for place in build.get("place", ()) if place["key"] == key), key)


def _settings(values: Mapping[str, Any], before: Mapping[str, Any]) -> Iterator[str]:
    """What was set, in words; money in whole units of the currency that was set with it or before."""
    currency = values.get("currency", before.get("currency", ""))
    for name, value in values.items():
        if value == "":  # a guess that is one no longer
            continue
        plain = name.replace("_", " ")
        yield f"{plain} {value / 100:.2f} {currency}" if name.endswith("_minute") else f"{plain} {value}"


def _both_sides(values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Values of a set-up with left and right put together where they are the same: “camber front −2”."""
    said = {name.replace("/", " "): str(value) for name, value in values.items()}
    said = {
        name: f"{float(value):g}".replace("-", "−") if isinstance(values[key], int | float) else value
        for (name, value), key in zip(said.items(), values, strict=True)
    }
    for name, value in said.items():
        other = name.replace("left", "right") if "left" in name else name.replace("right", "left")
        if other == name or said.get(other) != value:
            yield name, value
        elif "left" in name:
            yield name.replace(" left", ""), value


def _count(number: float, noun: str) -> str:
    return f"{number:g} {noun}{'' if number == 1.0 else 's'}"


def _hits(ran: Ran) -> str:
    if ran.hits_said in ("none", ""):
        return "no hard hits"
    if ran.hits_said.replace(".", "").isdigit():
        return f"{ran.hits_said} hard hit{'' if ran.hits_said == '1' else 's'}"
    return f"{ran.hits_said} hard hits (counted as {ran.hard_hits:g})"


def _reading(reading: Reading) -> str:
    said = f"{reading.spot} {reading.value:g} {reading.unit}"
    if reading.seconds_after_stop is not None:
        return f"{said}, {reading.seconds_after_stop:g} s after stopping"
    if reading.unit == "°C":  # a lap time, or a top speed, is no older for being read late
        return f"{said} (seconds after stopping not entered, so not used)"
    return said


def _harms(harms: Iterable[PackHarm]) -> str:
    return _and(harm.value for harm in harms)


def _numbers(values: Iterable[float]) -> str:
    return " / ".join(f"{value:.4g}" for value in values)


def _span(minutes: float) -> str:
    """A wait in the unit a person would use."""
    if minutes < 100.0:
        return f"{minutes:.0f} min"
    hours = minutes / 60.0
    return f"{hours:.0f} h" if hours < 48.0 else f"{hours / 24.0:.0f} days"


def _paid(spent: Money | None) -> str:
    return f" for {tell_money(spent)}" if spent else ""


def _because(words: str) -> str:
    return f": {words}" if words else ""


def _and(words: Iterable[str]) -> str:
    listed = list(words)
    return " and ".join(filter(None, (", ".join(listed[:-1]), *listed[-1:])))

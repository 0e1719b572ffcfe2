"""Rules of every run: bore held, steps, speed, and something that flexes between engine and body."""

from math import pi

from server.core.air import gas, losses
from server.core.checks.facts import Facts
from server.core.checks.flow import flow_of, run_flow
from server.core.checks.layout import End, Joint, piece_label
from server.core.checks.levers import bore_levers, bore_move
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import (
    AIR,
    ANY_RUN,
    FLOWING,
    About,
    Findings,
    Found,
    Lever,
    Rule,
    RuleClass,
    for_each,
    plain,
)
from server.core.measure.many import log
from server.core.phrase import Amount, Phrase, length, pressure
from server.core.sources import source
from server.core.tube.run import JointKind, PieceKind, PiecePlan, PortPlan
from server.core.units import Kind

_NO_PORT = Phrase("Choose the ports where the run starts and ends.")


def _smaller_end_port(facts: Facts) -> End:
    """The end port that the run is measured against: with the smaller bore, by the best estimates."""
    start, end = facts.plan.start, facts.plan.end
    if start is None or end is None:
        raise NotMeasured(_NO_PORT)
    sides = (End(start, True), End(end, False))
    return min(sides, key=facts.best.bore)


def bore_held(facts: Facts) -> Findings:
    """Bore against bore: no piece narrower than the smaller end port, slack left out.

    Source: common practice.
    """
    pieces = [piece for piece in facts.plan.pieces if piece.kind is not PieceKind.METER]
    if not pieces:
        return ()
    port = _smaller_end_port(facts)
    return for_each(pieces, lambda piece: f"piece.{piece.id}", lambda piece: (_bore_of(facts, piece, port),))


def _bore_of(facts: Facts, piece: PiecePlan, port: End) -> Found:
    asked = facts.bore(port)
    end = facts.narrower_end(piece)
    bore = facts.bore(end)

    def about() -> About:
        short = asked - bore
        words = {"piece": piece_label(piece), "port": port.label}
        amounts = {"bore": length(bore), "asked": length(asked), "short": length(max(short, 0.0))}
        if short > facts.limit("bore.slack"):
            text = "{piece} narrows the run: {bore}, {short} under {port} ({asked})."
        else:
            text = "Tightest is {piece}: bore {bore}, asked {asked} as at {port}."
        return About(
            Phrase(text, words, amounts),
            "piece",
            piece.number,
            bore,
            asked,
            Kind.length,
            tight_margin=_bore_tight_margin(facts, piece, short, end, port),
            levers=bore_levers(facts, piece, asked),
            moves=(bore_move(piece, words, amounts),),
        )

    return Found(f"piece.{piece.id}", bore - asked + facts.limit("bore.slack"), about)


def _bore_tight_margin(facts: Facts, piece: PiecePlan, short: float, end: End, port: End) -> float:
    """Zero or more is tight: within a wall all round [m]; beyond it, extra loss within its share [Pa]."""
    within_wall = 2.0 * facts.wall_or_usual(end, port) - short
    if within_wall >= 0.0 or facts.plan.place not in FLOWING:
        return within_wall
    extra = flow_of(facts).loss - run_flow(facts, (piece, facts.bore(port))).loss
    return facts.limit("bore.loss_share") * facts.allowed_loss - extra


def steps(facts: Facts) -> Findings:
    """Change of bore at each joint, up and down apart.

    Source: common practice; loss after `air.losses.step`.
    """
    joints = [joint for joint in facts.layout.joints if joint.before is not None and joint.after is not None]
    return for_each(joints, lambda joint: joint.item, lambda joint: _steps_at(facts, joint))


def _steps_at(facts: Facts, joint: Joint) -> tuple[Found, ...]:
    before, after = joint.before, joint.after
    assert before is not None  # `steps` leaves out joints without two sides
    assert after is not None
    rise = facts.bore(after) - facts.bore(before)
    slack = facts.limit("bore.slack")
    # A wall all round is two walls on the bore. A hose goes over the spigot, so that this much belongs to the
    # joint.
    all_round = 2.0 * facts.wall_or_usual(before, after)
    over_spigot = joint.plan.kind is JointKind.HOSE_AND_CLAMP and before.is_hose != after.is_hose
    allowed = slack + (all_round if over_spigot else 0.0)

    def about() -> About:
        size = abs(rise)
        words = {"joint": joint.label, "way": "up" if rise >= 0.0 else "down"}
        amounts = {"step": length(size), "allowed": length(allowed)}
        text = "At {joint} the bore steps {way} by {step}; up to {allowed} passes."
        if size < slack:
            text = "Largest step is at {joint}: {step}, up to {allowed} passes."
        move = Phrase("Match the bores at {joint}, or put a conical reducer there.", words)
        if over_spigot and (rise > 0.0) is after.is_hose:
            move = Phrase("Take a hose at {joint} that fits the spigot: its bore the tube's outside.", words)
        return About(
            Phrase(text, words, amounts),
            "joint",
            joint.number,
            size,
            allowed,
            Kind.length,
            tight_margin=_step_tight_margin(facts, joint, size, allowed + all_round),
            levers=_wider_side(facts, before, after),
            moves=(move,),
        )

    return (
        Found(joint.item + ".up", allowed - rise, about),
        Found(joint.item + ".down", allowed + rise, about),
    )


def _wider_side(facts: Facts, before: End, after: End) -> tuple[Lever, ...]:
    """A larger bore for the narrower of two neighbours, where it is a piece that is chosen by its bore."""
    owner = min((before, after), key=facts.bore).owner
    if isinstance(owner, PortPlan):
        return ()
    return bore_levers(facts, owner)


def _step_tight_margin(facts: Facts, joint: Joint, size: float, within: float) -> float:
    """Within a wall all round it is tight; beyond it the step's own loss decides, over its share [Pa]."""
    if size <= within or facts.plan.place not in FLOWING:
        return within - size
    assert joint.before is not None
    assert joint.after is not None
    bores = (facts.bore(joint.before), facts.bore(joint.after))
    engine = facts.engine
    area = 0.25 * pi * min(bores) ** 2
    stream = gas.stream_from_stagnation(engine.flow, area, engine.pressure, engine.temperature, engine.gas)
    if stream is None:
        return -engine.pressure
    dynamic = 0.5 * gas.density(stream.pressure, stream.temperature, engine.gas) * stream.speed**2
    return facts.limit("step.loss_share") * facts.allowed_loss - losses.step(*bores).value * dynamic


def speed(facts: Facts) -> Findings:
    """Mach number in every piece at the peak, as a ratio to its limit. Source: `air.march`."""
    return speeds(facts, "mach.most", "mach.hard")


def speeds(facts: Facts, most: str, hard: str) -> Findings:
    """Mach number in every piece against two limits, by their keys. Source: `air.march`."""
    if flow_of(facts).choked_at is not None:
        return (_choked(facts),)
    return tuple(_speed_in(facts, piece, most, hard) for piece in facts.plan.pieces)


def _choked(facts: Facts) -> Found:
    flow = flow_of(facts)
    if flow.greatest_flow is None:
        return plain("choked", False, lambda: _sonic(facts))
    amounts = {"flow": Amount(flow.flow, Kind.mass_flow), "most": Amount(flow.greatest_flow, Kind.mass_flow)}
    place = next((piece for piece in facts.plan.pieces if f"piece.{piece.id}" == flow.choked_at), None)
    words = {"place": piece_label(place) if place is not None else "An end port"}
    text = "{place} chokes: the engine asks {flow}, no more than {most} passes."
    return plain(
        "choked",
        False,
        lambda: About(Phrase(text, words, amounts), "run", moves=(Phrase("Use a larger bore throughout."),)),
    )


def _sonic(facts: Facts) -> About:
    """Exhaust passes a narrow place at Mach 1, whatever pressure that takes."""
    flow = flow_of(facts)
    place = next((piece for piece in facts.plan.pieces if f"piece.{piece.id}" == flow.choked_at), None)
    words = {"place": piece_label(place) if place is not None else "an end port"}
    amounts = {"back": pressure(flow.back_pressure or 0.0)}
    text = "Exhaust reaches Mach 1 in {place}: it passes only at {back} of back pressure."
    return About(Phrase(text, words, amounts), "run", moves=(Phrase("Use a larger bore throughout."),))


def _speed_in(facts: Facts, piece: PiecePlan, limit: str, hard: str) -> Found:
    found = flow_of(facts).of(piece)
    # A draw in which the run chokes before this piece is as fast as air gets.
    mach, fastest = (found.mach, found.speed) if found is not None else (1.0, 0.0)
    most = facts.limit(limit)

    def about() -> About:
        words = {"piece": piece_label(piece)}
        amounts = {
            "speed": Amount(fastest, Kind.speed),
            "mach": Amount(mach, Kind.ratio),
            "most": Amount(most, Kind.ratio),
        }
        return About(
            Phrase("Fastest in {piece}: {speed}, Mach {mach}; up to Mach {most} passes.", words, amounts),
            "piece",
            piece.number,
            mach,
            most,
            Kind.ratio,
            tight_margin=facts.limit(hard) - mach,
            levers=bore_levers(facts, piece),
            moves=(Phrase("Use a larger bore in {piece} and in every other fast piece.", words),),
            doubt_scale=mach,
        )

    return Found(f"piece.{piece.id}", log(most / mach), about)


def flexes(facts: Facts) -> Findings:
    """Between two frames something must flex.

    Nothing to say where a frame is not stated, unless the run is stiff: then it has to be.

    Source: common practice.
    """
    start, end = facts.plan.start, facts.plan.end
    if start is None or end is None or not facts.plan.pieces:
        return ()
    passes = any(piece.is_hose or piece.kind is PieceKind.FLEX for piece in facts.plan.pieces)
    silent = next((port for port in (start, end) if not port.frame), None)
    if silent is not None and not passes:
        text = "Nothing in the run flexes: say what {port} moves with."
        raise NotMeasured(Phrase(text, {"port": silent.name}))
    if silent is not None or start.frame == end.frame:
        return ()
    words = {"start": start.name, "first": start.frame, "end": end.name, "second": end.frame}

    def about() -> About:
        text = "{start} moves with the {first}, {end} with the {second}: "
        text += "the run has a piece that flexes." if passes else "nothing in the run flexes."
        return About(
            Phrase(text, words),
            moves=(Phrase("Put a hose or a flex piece between the {first} and the {second}.", words),),
        )

    return (plain("flex", passes, about),)


RULES = (
    Rule(
        "bore-held",
        "Bore held",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "d(piece) ≥ min(d(start), d(end)), bore against bore",
        "Nowhere below the smaller end port. Short by no more than a tube wall all round is tight; beyond"
        " that the extra loss "
        "of the narrow piece decides.",
        ("bore.slack", "wall.usual", "bore.loss_share"),
        (source("practice"),),
        None,
        bore_held,
    ),
    Rule(
        "steps",
        "Steps at joints",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "|d(after) − d(before)|; loss = K · ρ v² / 2",
        "Equal bores pass; under a hose the spigot's wall all round passes too. One wall more is tight; "
        "then the loss of "
        "the step decides.",
        ("bore.slack", "wall.usual", "step.loss_share"),
        (source("practice"), source("crane")),
        None,
        steps,
    ),
    Rule(
        "speed",
        "Speed and Mach number",
        AIR,
        RuleClass.PERFORMANCE,
        "M = v / √(γ R T), fastest place of each piece, at the peak",
        "Mach number at the peak; over the first limit is tight, over the second no-go.",
        ("mach.most", "mach.hard"),
        (source("practice"),),
        None,
        speed,
    ),
    Rule(
        "flex",
        "Something flexes",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "ends in two frames ⇒ at least one hose or flex piece",
        "A run between engine and body has a piece that flexes.",
        (),
        (source("practice"),),
        None,
        flexes,
    ),
)

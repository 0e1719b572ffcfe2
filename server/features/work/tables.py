"""Tasks, what must be done before them, and what they wait for."""

from datetime import date, datetime

from sqlmodel import Field, UniqueConstraint

from server.db import Row, VersionedRow


class Task(VersionedRow, table=True):
    """A piece of work. *Ready* and *held* are worked out, never stored: `state` is open, in hand or done."""

    __tablename__ = "task"

    build_id: int = Field(foreign_key="build.id", index=True)
    subsystem_id: int | None = Field(default=None, foreign_key="subsystem.id")
    title: str = Field(max_length=120)
    state: str = Field(default="open", max_length=20)
    minutes_low: int
    minutes_likely: int
    minutes_high: int
    place: str = Field(default="bench", max_length=40)
    """bench, engine bay, under the car, outside"""
    car_state: str = Field(default="any", max_length=20)
    hands: int = 1
    helper_skill: str = Field(default="", max_length=40)
    """What a helper must be able to do; empty where none is needed."""
    hot_work: bool = False
    splits: bool = True
    """May be spread over stints."""
    caution: str = Field(default="", max_length=40)
    """Code of a caution."""
    licensed: str = Field(default="", max_length=40)
    """What of it is for a licensed person; empty for nothing."""
    start_stage: str = Field(default="", max_length=20)
    """Which stage of the first start it holds; empty: worked out."""
    carry: str = Field(default="", max_length=300)
    """What to carry under with you."""
    note: str = Field(default="", max_length=500)
    started_at: datetime | None = None
    started_by: str = Field(default="builder", max_length=80)
    done_at: datetime | None = None
    done_by: str = Field(default="builder", max_length=80)
    """Who said so: the builder, or the name on a helper's link."""
    worked_minutes: int | None = 0
    """Minutes it was in hand, pauses left out; none where a go was never paused, so that it is not known."""
    begun_at: datetime | None = None
    """When the go that is going on began."""
    position: int = 0
    from_set: str = Field(default="", max_length=40)
    """Which task of the starting set it is; empty for the builder's own."""
    removed_at: datetime | None = None
    """Set aside; it can be put back."""


class Dependency(Row, table=True):
    """One task that comes after another, at least `least_wait` minutes later (cure, cool-down)."""

    __tablename__ = "dependency"
    __table_args__ = (UniqueConstraint("task_id", "after_task_id"),)

    task_id: int = Field(foreign_key="task.id", index=True)
    after_task_id: int = Field(foreign_key="task.id", index=True)
    least_wait: int = 0
    """Minutes of calendar time."""


class Need(Row, table=True):
    """A quantity of a part that a task calls for, as set by hand."""

    __tablename__ = "need"
    __table_args__ = (UniqueConstraint("task_id", "part_id"),)

    task_id: int = Field(foreign_key="task.id", index=True)
    part_id: int = Field(foreign_key="part.id", index=True)
    quantity: int = 1


class Wait(Row, table=True):
    """Something a task waits for: a reading, a decision, a design that passes its checks, its pieces."""

    __tablename__ = "wait"

    task_id: int = Field(foreign_key="task.id", index=True)
    kind: str = Field(max_length=20)
    """reading, decision, checks; pieces to make, pieces to fit (those of the chosen design)"""
    port_id: int | None = Field(default=None, foreign_key="port.id")
    dimension: str = Field(default="", max_length=20)
    subsystem_id: int | None = Field(default=None, foreign_key="subsystem.id")


class Hold(Row, table=True):
    """A hold set by hand: a helper, a tool, the weather."""

    __tablename__ = "hold"

    task_id: int = Field(foreign_key="task.id", index=True)
    kind: str = Field(max_length=20)
    """helper, tool, other"""
    reason: str = Field(max_length=160)
    until: date | None = None
    set_at: datetime
    cleared_at: datetime | None = None


class Setback(VersionedRow, table=True):
    """What may go wrong with a task, such as a stud that snaps, and the work it would bring."""

    __tablename__ = "setback"

    task_id: int = Field(foreign_key="task.id", index=True)
    title: str = Field(max_length=120)
    """The task it would bring: "Drill out the snapped stud"."""
    chance: float
    """Between 0 and 1."""
    minutes_low: int
    minutes_likely: int
    minutes_high: int
    carry: str = Field(default="", max_length=300)
    caution: str = Field(default="", max_length=40)
    note: str = Field(default="", max_length=300)
    happened_at: datetime | None = None
    brought_task_id: int | None = Field(default=None, foreign_key="task.id")
    """The task that it brought, once it happened."""
    removed_at: datetime | None = None
    """Set aside; it can be put back."""

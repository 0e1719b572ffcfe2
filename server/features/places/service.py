"""Where the ports of a build are, for the other features."""

from collections.abc import Mapping

from sqlmodel import Session

from server.core.tube.space.siting import Found, found_poses
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.places import store


def known_places(session: Session, build: BuildFace) -> Mapping[int, Found]:
    """What is known of where each port is, by its number; read once for each state of the build."""

    def read() -> Mapping[int, Found]:
        return found_poses(store.sights_of(store.readings_of(session, build.id)))

    return builds.kept(build, ("places",), read)

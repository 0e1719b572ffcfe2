"""The application: one function that puts the pieces together."""

import asyncio
from collections.abc import Callable
from datetime import datetime

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import Route

from server.db import make_engine
from server.features.airpath import routes as airpath
from server.features.archive import routes as archive
from server.features.beside import routes as beside
from server.features.builds import routes as builds
from server.features.builds.service import after_write
from server.features.calendar import routes as calendar
from server.features.compare import routes as compare
from server.features.connecting import routes as connecting
from server.features.cut_sums import routes as cut_sums
from server.features.cuts import routes as cuts
from server.features.designing import routes as designing
from server.features.dossier import routes as dossier
from server.features.engine import routes as engine
from server.features.figuring import routes as figuring
from server.features.first_start import routes as first_start
from server.features.garage import routes as garage
from server.features.handbook import routes as handbook
from server.features.helping import routes as helping
from server.features.isometric import routes as isometric
from server.features.keepouts import routes as keepouts
from server.features.labels import routes as labels
from server.features.leak_tests import routes as leak_tests
from server.features.limits import routes as limits
from server.features.linemap import routes as linemap
from server.features.lines import routes as lines
from server.features.linesheet import routes as linesheet
from server.features.links import routes as links
from server.features.log import routes as log
from server.features.logbook import routes as logbook
from server.features.measuring import routes as measuring
from server.features.neighbouring import routes as neighbouring
from server.features.news.service import news_of
from server.features.orders import routes as orders
from server.features.parcels import routes as parcels
from server.features.parts import routes as parts
from server.features.passkeys import routes as passkeys
from server.features.patterns import routes as patterns
from server.features.photos import routes as photos
from server.features.pipe_sums import routes as pipe_sums
from server.features.placing import routes as placing
from server.features.plan_sums import routes as plan_sums
from server.features.planning import routes as planning
from server.features.ports import routes as ports
from server.features.power import routes as power
from server.features.printed import routes as printed
from server.features.pulling import routes as pulling
from server.features.routing import routes as routing
from server.features.sharing import routes as sharing
from server.features.shelf import routes as shelf
from server.features.shopping import routes as shopping
from server.features.spending import routes as spending
from server.features.splicing import routes as splicing
from server.features.starting import routes as starting
from server.features.stint_now import routes as stint_now
from server.features.stints import routes as stints
from server.features.subsystems import routes as subsystems
from server.features.sums import routes as sums
from server.features.suppliers import routes as suppliers
from server.features.supposing import routes as supposing
from server.features.tasks import routes as tasks
from server.features.this_phone import routes as this_phone
from server.features.trimming import routes as trimming
from server.features.visits import routes as visits
from server.features.wall_sheet import routes as wall_sheet
from server.features.work import routes as work
from server.features.work.service import supplies, titles
from server.features.work.store import resting_on_port
from server.gate import Gate
from server.guests import Guests
from server.settings import Settings
from server.tidying import Tidy
from server.web.assets import serve_static, serve_worker
from server.web.back import ways_back
from server.web.errors import add_error_pages
from server.web.security import Guard

LOOPBACK_NAMES = frozenset({"127.0.0.1", "localhost", "::1"})

FEATURES = (
    builds,
    archive,
    this_phone,
    photos,
    engine,
    limits,
    ports,
    placing,
    keepouts,
    parts,
    suppliers,
    shelf,
    designing,
    subsystems,
    routing,
    splicing,
    figuring,
    neighbouring,
    trimming,
    airpath,
    power,
    orders,
    parcels,
    work,
    stints,
    tasks,
    stint_now,
    planning,
    supposing,
    calendar,
    starting,
    shopping,
    spending,
    printed,
    compare,
    log,
    logbook,
    beside,
    links,
    labels,
    handbook,
    lines,
    connecting,
    linemap,
    linesheet,
    pulling,
    visits,
    leak_tests,
    first_start,
    wall_sheet,
    dossier,
    cuts,
    isometric,
    patterns,
    pipe_sums,
    cut_sums,
    plan_sums,
    sums,
    measuring,
    garage,
    helping,
)
"""Features in the order of the ladder; sharing is only there where others can reach this server."""


WAYS_BACK = ways_back(feature.router for feature in FEATURES)


def local_time() -> datetime:
    """The present moment, with the offset of this machine's time zone."""
    return datetime.now().astimezone()


def create_app(settings: Settings, clock: Callable[[], datetime] = local_time) -> FastAPI:
    """The application for these settings. The database must have been migrated already."""
    app = FastAPI(title="Witness Mark", docs_url=None, redoc_url=None)
    app.state.settings = settings
    app.state.engine = make_engine(settings.database_url)
    app.state.clock = clock
    app.state.writer_lock = asyncio.Lock()
    app.state.after_write = after_write
    # Sheets of parts and orders show what tasks make of them; features below may not ask those above.
    app.state.supplies = supplies
    app.state.titles = titles
    app.state.news = news_of
    app.state.resting_on_port = resting_on_port
    app.router.routes.append(Route("/static/{path:path}", serve_static))
    app.router.routes.append(Route("/sw.js", serve_worker))
    routers = [*(feature.router for feature in FEATURES), WAYS_BACK]
    if not settings.loopback:
        routers += [sharing.router, passkeys.router]
        app.state.sign_in_tries = sharing.Tries()
    # Routes as they were built on import. `include_router` builds each anew while the first asker waits.
    for router in routers:
        app.router.routes.extend(router.routes)
    add_error_pages(app)
    app.add_middleware(GZipMiddleware, minimum_size=500, compresslevel=6)
    app.add_middleware(Guests, engine=app.state.engine, clock=clock)
    if not settings.loopback:
        app.add_middleware(Gate, engine=app.state.engine, clock=clock)
    app.add_middleware(Guard, hosts=LOOPBACK_NAMES | {settings.host} | set(settings.extra_hosts))
    app.add_middleware(Tidy)
    return app

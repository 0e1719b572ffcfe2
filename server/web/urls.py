"""Every address of the application: one function each, used by routes' redirects and by templates."""

from datetime import date
from urllib.parse import urlencode


def builds() -> str:
    return "/builds"


def build(build_id: int) -> str:
    return f"/builds/{build_id}"


def garage(build_id: int) -> str:
    return f"/builds/{build_id}/garage"


def engine(build_id: int) -> str:
    return f"/builds/{build_id}/engine"


def ports(build_id: int) -> str:
    return f"/builds/{build_id}/ports"


def port(build_id: int, port_id: int) -> str:
    return f"/builds/{build_id}/ports/{port_id}"


def port_measuring(build_id: int, port_id: int, dimension: str) -> str:
    return f"/builds/{build_id}/ports/{port_id}?measure={dimension}"


def readings(build_id: int, port_id: int) -> str:
    return f"/builds/{build_id}/ports/{port_id}/readings"


def reading_withdrawal(build_id: int, port_id: int, reading_id: int) -> str:
    return f"/builds/{build_id}/ports/{port_id}/readings/{reading_id}/withdrawal"


def subsystems(build_id: int) -> str:
    return f"/builds/{build_id}/subsystems"


def subsystem(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}"


def subsystems_from(build_id: int, first: int) -> str:
    """The subsystems after so many."""
    return f"/builds/{build_id}/subsystems?from={first}"


def subsystem_removal(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/removal"


def subsystem_return(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/return"


def start(build_id: int) -> str:
    """The starting set."""
    return f"/builds/{build_id}/start"


def start_of(build_id: int, kind: str) -> str:
    """What the starting set has for one kind of subsystem."""
    return f"/builds/{build_id}/start?{urlencode({'of': kind})}"


def subsystem_designs(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/designs"


def started(build_id: int, subsystems: int, ports: int, tasks: int) -> str:
    """The subsystems, beginning with what was just added."""
    return f"/builds/{build_id}/subsystems?added={subsystems}-{ports}-{tasks}"


def compare(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/compare"


def compare_choice(build_id: int, subsystem_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/compare/{design_id}"


def design(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}"


def design_choice(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/choice"


def design_copy(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/copy"


def design_removal(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/removal"


def design_return(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/return"


def piece_cut(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/cut"


def piece_whole(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/whole"


def pieces(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces"


def piece(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}"


def piece_swap(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/swap"


def piece_move(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/move"


def piece_removal(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/removal"


def piece_return(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/return"


def bungs(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/bungs"


def bung_removal(build_id: int, design_id: int, bung_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/bungs/{bung_id}/removal"


def joint(build_id: int, design_id: int, joint_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/joints/{joint_id}"


def joint_copy(build_id: int, design_id: int, joint_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/joints/{joint_id}/copy"


def concessions(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/concessions"


def work(build_id: int) -> str:
    return f"/builds/{build_id}/work"


def tasks(build_id: int) -> str:
    return f"/builds/{build_id}/tasks"


def task(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}"


def task_state(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/state"


def task_removal(build_id: int, task_id: int) -> str:
    """Where a task is set aside and put back."""
    return f"/builds/{build_id}/tasks/{task_id}/removal"


def task_photos(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/photos"


def setbacks(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/setbacks"


def setback(build_id: int, task_id: int, setback_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/setbacks/{setback_id}"


def setback_happening(build_id: int, task_id: int, setback_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/setbacks/{setback_id}/happening"


def setback_removal(build_id: int, task_id: int, setback_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/setbacks/{setback_id}/removal"


def work_part(build_id: int, group: str, start: int) -> str:
    """One group of the work alone, from that task of it on."""
    return f"/builds/{build_id}/work?group={group}&from={start}"


def task_afters(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/afters"


def task_needs(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/needs"


def task_waits(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/waits"


def task_holds(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/holds"


def after_removal(build_id: int, task_id: int, after_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/afters/{after_id}/removal"


def need_removal(build_id: int, task_id: int, need_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/needs/{need_id}/removal"


def wait_removal(build_id: int, task_id: int, wait_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/waits/{wait_id}/removal"


def hold_clearing(build_id: int, task_id: int, hold_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/holds/{hold_id}/clearing"


def telling(address: str, told: str) -> str:
    """A sheet that begins with what was just done on it, e.g. `told` = "delivery-7"."""
    return f"{address}?told={told}" if told else address


def orders(build_id: int) -> str:
    return f"/builds/{build_id}/orders"


def orders_from(build_id: int, coming: int, settled: int) -> str:
    """The orders after so many that are coming, or after so many settled ones."""
    return f"/builds/{build_id}/orders?{urlencode({'coming': coming, 'settled': settled})}"


def order(build_id: int, order_id: int) -> str:
    return f"/builds/{build_id}/orders/{order_id}"


def order_line(build_id: int, line_id: int) -> str:
    return f"/builds/{build_id}/order-lines/{line_id}"


def order_lines(build_id: int, order_id: int) -> str:
    return f"/builds/{build_id}/orders/{order_id}/lines"


def order_removal(build_id: int, order_id: int) -> str:
    return f"/builds/{build_id}/orders/{order_id}/removal"


def parcels(build_id: int, order_id: int) -> str:
    return f"/builds/{build_id}/orders/{order_id}/parcels"


def parcel_withdrawal(build_id: int, order_id: int, delivery_id: int) -> str:
    """Of the whole parcel that one delivery came in."""
    return f"/builds/{build_id}/orders/{order_id}/parcels/{delivery_id}/withdrawal"


def returns(build_id: int, line_id: int) -> str:
    return f"/builds/{build_id}/order-lines/{line_id}/returns"


def return_withdrawal(build_id: int, sent_id: int) -> str:
    return f"/builds/{build_id}/returns/{sent_id}/withdrawal"


def refund(build_id: int, sent_id: int) -> str:
    return f"/builds/{build_id}/returns/{sent_id}/refund"


def refund_removal(build_id: int, sent_id: int) -> str:
    return f"/builds/{build_id}/returns/{sent_id}/refund/removal"


def calling_off(build_id: int, line_id: int) -> str:
    """Pieces of an order line that will not come."""
    return f"/builds/{build_id}/order-lines/{line_id}/calling-off"


def deliveries(build_id: int, line_id: int) -> str:
    return f"/builds/{build_id}/order-lines/{line_id}/deliveries"


def delivery_withdrawal(build_id: int, delivery_id: int) -> str:
    return f"/builds/{build_id}/deliveries/{delivery_id}/withdrawal"


def parts(build_id: int) -> str:
    return f"/builds/{build_id}/parts"


def part(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/parts/{part_id}"


def part_shelf(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/parts/{part_id}/shelf"


def part_tried(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/parts/{part_id}/tried"


def part_removal(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/parts/{part_id}/removal"


def part_list(sheet: str, name: str = "", kind: str = "", start: int = 0, told: str = "") -> str:
    """A list of parts (`sheet`: the parts or the shelf) as somebody looks through it."""
    asked = {"name": name, "kind": kind, "from": start or "", "told": told}
    query = urlencode({key: value for key, value in asked.items() if value})
    return f"{sheet}?{query}" if query else sheet


def offers(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/parts/{part_id}/offers"


def offer(build_id: int, offer_id: int) -> str:
    return f"/builds/{build_id}/offers/{offer_id}"


def offer_preference(build_id: int, offer_id: int) -> str:
    return f"/builds/{build_id}/offers/{offer_id}/preference"


def offer_removal(build_id: int, offer_id: int) -> str:
    return f"/builds/{build_id}/offers/{offer_id}/removal"


def suppliers(build_id: int) -> str:
    return f"/builds/{build_id}/suppliers"


def supplier(build_id: int, supplier_id: int) -> str:
    return f"/builds/{build_id}/suppliers/{supplier_id}"


def shelf(build_id: int) -> str:
    return f"/builds/{build_id}/shelf"


def shelf_count(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/shelf/{part_id}"


def off_cuts(build_id: int) -> str:
    return f"/builds/{build_id}/off-cuts"


def off_cut_use(build_id: int, off_cut_id: int) -> str:
    return f"/builds/{build_id}/off-cuts/{off_cut_id}/use"


def shopping(build_id: int) -> str:
    return f"/builds/{build_id}/shopping"


def shopping_from(build_id: int, part: str, after: int) -> str:
    """The list with one of its long parts (`unoffered`, `made`, `waiting`) from a later line on."""
    return f"/builds/{build_id}/shopping?{part}={after}#{part}"


def shopping_naming(build_id: int, supplier: str) -> str:
    """The list where the next line's supplier is filled in already."""
    return f"/builds/{build_id}/shopping?{urlencode({'supplier': supplier})}#unoffered"


def shopping_offers(build_id: int) -> str:
    return f"/builds/{build_id}/shopping/offers"


def shopping_order(build_id: int, supplier_id: int) -> str:
    return f"/builds/{build_id}/shopping/suppliers/{supplier_id}"


def shopping_print(build_id: int) -> str:
    return f"/builds/{build_id}/shopping/print"


def shopping_csv(build_id: int) -> str:
    return f"/builds/{build_id}/shopping.csv"


def shopping_pdf(build_id: int) -> str:
    return f"/builds/{build_id}/shopping.pdf"


def photo_small(build_id: int, photo_id: int) -> str:
    return f"/builds/{build_id}/photos/{photo_id}?small=1"


def photo_sheet(build_id: int, photo_id: int, told: str = "") -> str:
    """The sheet of one photo: the picture, what it shows, and the way to set it aside."""
    return telling(f"/builds/{build_id}/photos/{photo_id}/sheet", told)


def photo_withdrawal(build_id: int, photo_id: int) -> str:
    return f"/builds/{build_id}/photos/{photo_id}/withdrawal"


def port_photos(build_id: int, port_id: int) -> str:
    return f"/builds/{build_id}/ports/{port_id}/photos"


def port_removal(build_id: int, port_id: int) -> str:
    """Where a port is set aside and put back."""
    return f"/builds/{build_id}/ports/{port_id}/removal"


def ports_from(build_id: int, first: int) -> str:
    """The ports after so many."""
    return f"/builds/{build_id}/ports?from={first}"


def photo(build_id: int, photo_id: int) -> str:
    return f"/builds/{build_id}/photos/{photo_id}"


def log(build_id: int) -> str:
    return f"/builds/{build_id}/log"


def note(build_id: int, note_id: int) -> str:
    return f"/builds/{build_id}/log/{note_id}"


def note_photos(build_id: int, note_id: int) -> str:
    return f"/builds/{build_id}/log/{note_id}/photos"


def note_withdrawal(build_id: int, note_id: int) -> str:
    return f"/builds/{build_id}/log/{note_id}/withdrawal"


def log_days(build_id: int, last: date) -> str:
    """The log up to and including a day."""
    return f"/builds/{build_id}/log?to={last.isoformat()}"


def handbook() -> str:
    return "/handbook"


def handbook_rule(code: str) -> str:
    return f"/handbook#{code}"


def sums() -> str:
    return "/sums"


def sum_page(name: str) -> str:
    return f"/sums/{name}"


def openapi() -> str:
    return "/openapi.json"


def home() -> str:
    return "/"


def sign_in(back: str = "") -> str:
    return f"/sign-in?{urlencode({'back': back})}" if back else "/sign-in"


def sign_out() -> str:
    return "/sign-out"

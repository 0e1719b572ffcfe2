"""Addresses of orders, and of what came, went back or was called off."""

from urllib.parse import urlencode


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


def deliveries(build_id: int, line_id: int) -> str:
    return f"/builds/{build_id}/order-lines/{line_id}/deliveries"


def delivery_withdrawal(build_id: int, delivery_id: int) -> str:
    return f"/builds/{build_id}/deliveries/{delivery_id}/withdrawal"


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

"""The dates of a build for a calendar program: visits, post, order-by days, first start."""

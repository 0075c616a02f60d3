"""In every template: `count|in_unit:unit` says how many there are of a part, `unit|counted_in` what it is counted in."""

from django import template

from shop.workshop.rules import counted_in, in_unit

register = template.Library()
register.filter("in_unit", in_unit)
register.filter("counted_in", counted_in)

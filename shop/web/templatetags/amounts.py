"""In every template: `count|in_unit:unit`, how many there are of a part; `unit|counted_in`; `phone|grouped`."""

from django import template

from shop.workshop.rules import counted_in, grouped, in_unit

register = template.Library()
register.filter("in_unit", in_unit)
register.filter("counted_in", counted_in)
register.filter("grouped", grouped)

"""What gunicorn serves here: the workshop with its addresses read, so that who takes a dead process's place serves at once."""

from django.urls import resolve

from shop.wsgi import application as application

resolve("/api/v1/drop-offs")

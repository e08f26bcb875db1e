"""The whole application, built; a process that has imported this is forked into servers."""

from fastapi.routing import iter_route_contexts

from service.app import create_app
from service.engine.example import compile_kernels
from service.settings import Settings

APP = create_app(Settings(_env_file=None))
# As at every start of the application: here it is done once, before the first.
list(iter_route_contexts(APP.routes))
compile_kernels()

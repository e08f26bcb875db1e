"""Many kits simulated: a sweep is a job, and its curves are read as they are finished."""

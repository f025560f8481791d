"""The pages, one module for each kind; ``ROUTERS`` lists them in the order in which their addresses are tried."""

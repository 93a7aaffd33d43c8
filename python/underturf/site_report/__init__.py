"""A report of a site for the file: what is known, what was assumed, what matters, whether it converged, how to do it again."""

from underturf.site_report.document import report_html

__all__ = ["report_html"]

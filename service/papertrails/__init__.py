"""The paper trail of a kit: one page of what is documented, what is missing, who decides."""

"""The pages a person sees, and the template that is built from them."""

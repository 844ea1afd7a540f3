"""Renders the invented rehearsal films of src/onthree/demo/rehearsal again, with the truth beside them."""

from onthree.demo.rehearsal_films import rehearsal_folder, write_rehearsal_films

if __name__ == "__main__":
    for film in write_rehearsal_films(rehearsal_folder()):
        print(f"{film.name}: {film.stat().st_size / 1e6:.2f} MB")

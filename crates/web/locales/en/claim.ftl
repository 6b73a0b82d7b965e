# Who is feeding, said by hand, and who settles what the book asks.
claim-do = I am feeding: tell the others
claim-mine = You are feeding ({ $at }); the others see it.
settled-by-others = A carer or the breeder answers this, on this phone too: tap the name at the top of the page.

"""The published worth of a volunteer's hour by year, for reports of impact; match goes by the program's own rates."""

# National series of the value of volunteer time, cents an hour, fringe included (12%, from 2019 on 15.7%); the years
# from 2022 on are from memory.
HOUR_CENTS = {
    2001: 16_27,
    2008: 20_25,
    2009: 20_85,
    2014: 23_07,
    2015: 23_56,
    2018: 25_43,
    2019: 27_20,
    2020: 28_54,
    2021: 29_95,
    2022: 31_80,
    2023: 33_49,
    2024: 34_79,
}

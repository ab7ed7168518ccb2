import type { Role } from "@sealbook/contract/permissions";

/** A person of the demo shop. The passwords are public: they exist in the demo only. */
export interface DemoSignIn {
  username: string;
  name: string;
  role: Role;
  password: string;
  pin: string;
}

/** The seven people of the demo shop, invented. */
export const demoSignIns: readonly DemoSignIn[] = [
  {
    username: "ines",
    name: "Ines Varga-Holt",
    role: "technician",
    password: "copper heron walks",
    pin: "2719",
  },
  {
    username: "tobias",
    name: "Tobias Ekweme",
    role: "technician",
    password: "quiet lantern moss",
    pin: "8306",
  },
  {
    username: "marguerite",
    name: "Marguerite Soto-Lind",
    role: "quality-engineer",
    password: "seven slow rivers",
    pin: "5193",
  },
  {
    username: "dorian",
    name: "Dorian Achterberg",
    role: "supervisor",
    password: "amber bridge north",
    pin: "4628",
  },
  {
    username: "petra",
    name: "Petra Nwachukwu",
    role: "storekeeper",
    password: "tall paper kite",
    pin: "7041",
  },
  {
    username: "alder",
    name: "Alder Finch-Okafor",
    role: "regulator",
    password: "plain glass marble",
    pin: "9357",
  },
  {
    username: "rowan",
    name: "Rowan Szabo",
    role: "administrator",
    password: "winter orchard gate",
    pin: "6482",
  },
];
